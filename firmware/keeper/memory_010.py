"""What firmware 0.1.0 kept over a power loss: read once, by the first firmware after it.

It was a row of numbers: version, state, then each by its place. The tries of that night, which
stood by the place of their rule, begin anew.
"""

from .checked import SETS
from .cycle import DONE, FLAT, IDLE, LOCKOUT
from .memory import is_number

_NAMES = ("night", "seq", "left_mah", "used_mah", "night_use_mah", "base_pa", "base_nights") + (
    "starts",
    "heat_ms",
    "night_run_s",
    "night_ml",
    "hold_until_night",
)
_OF_SETS = ("done_night", "begun_night", "given_s", "given_ml")
_STATES = {IDLE: "idle", DONE: "done", FLAT: "flat", LOCKOUT: "lockout"}


def words(text: str) -> dict:
    """Name to numbers, "state" to its name, as in a memory of today; nothing of a torn row."""
    numbers = text.split(" ")
    head = 2 + len(_NAMES)
    if len(numbers) < head or not all(is_number(number) for number in numbers):
        return {}
    row = [int(number) for number in numbers]
    kept: dict = {"state": _STATES.get(row[1], "lockout")}
    for place, name in enumerate(_NAMES):
        kept[name] = [row[2 + place]]
    for place, name in enumerate(_OF_SETS):
        first = head + place * (SETS + 1)
        kept[name] = row[first : first + SETS + 1]
    return kept
