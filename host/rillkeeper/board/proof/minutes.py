"""How long the proof takes a person: reading, hands and feet, and the board's own part.

What hands and feet take is by our own estimate, of somebody who does it once a year, unless a
source stands beside it.
"""

from collections.abc import Iterable, Mapping

from keeper.rules import WATCHED_IN
from keeper.settings import SCHEMA
from rillkeeper.board.proof.step import (
    ASK,
    BATTERY,
    BEGAN,
    BENCH,
    BUTTON,
    BY_ITSELF,
    CLICK,
    CUT_OUT,
    DEAD,
    DRIFT,
    FUSE,
    HALT,
    HAND_SWITCH,
    LOOK,
    POLARITY,
    POWER,
    PRESSURE,
    RAIN,
    ROWS,
    START,
    TOLD,
    TUB,
    WATER,
    ZERO,
    Step,
    hold_ms,
    sum_ms,
)

WORDS_A_MINUTE = 238
"""Silent reading of English (Brysbaert 2019, doi:10.1016/j.jml.2019.104047; from memory)."""
ANSWER_S = 4
"""To come back to the keys, after each thing that was done."""
WALK_M = 25
"""One way between board and tap, or board and water."""
WALK_M_S = 1.07
"""3.5 ft/s, for which crossings are timed (US MUTCD, 4E.06; from memory)."""
HANDS_S: dict[str, int] = {
    "walk": round(WALK_M / WALK_M_S),
    "switch": 5,
    "look": 10,
    "tub": 120,
    "plug": 20,
    "fuse": 25,
    "lamp": 30,
    "lead": 30,
    "meter": 25,
    "tap": 5,
    "strainer": 20,
    "unscrew": 60,
    "feel": 45,
    "ice": 180,
}
"""Each once: a plug, a blade fuse, a test lead, a hose nut on or off; a look at a lamp."""

_CLEARED_S = 4
"""To end a step: the board is stopped, cleared and asked for its settings."""
_CHECKED_S = 3
"""Two seconds of check and the start."""
_PRIMED_S = 4
"""A pump whose lines are full: from the start until pressure stays up (measured on the virtual
board). A board without transducer and flow meter waits for as long as its pump may need."""
_BOARD_S: dict[str, tuple[int, int]] = {
    ASK: (0, 0),
    BATTERY: (1, 25),
    BUTTON: (0, 5),
    CLICK: (0, 3),
    CUT_OUT: (1, 12),
    DEAD: (0, 45),
    DRIFT: (4, 245),
    FUSE: (0, 0),
    HALT: (1, 2),
    HAND_SWITCH: (1, 3),
    POLARITY: (0, 4),
    POWER: (0, 32),
    PRESSURE: (0, 12),
    RAIN: (0, 62),
    TUB: (2, 75),
    ZERO: (0, 6),
}
"""How often the pump must prime, and what the board takes besides, in the steps that are not
simply started."""

_LOOKED_S = 40
"""The board looks once a minute, and pressure by itself must stay up for one."""

TYPICAL: dict[str, int] = {row[0]: int(row[4] or 0) for row in SCHEMA} | {
    **{row[0]: 1 for row in SCHEMA if row[0].endswith("_fitted")},
    "prime_ms": 60_000,
}
"""For a list without a board: everything fitted, every setting at its default, and as much time
to prime as most sites ask for (own estimate)."""


def step_s(step: Step, settings: Mapping[str, int]) -> float:
    """About how long a step takes, in seconds."""
    return reading_s(step) + hands_s(step) + _board_s(step, settings)


def minutes(steps: Iterable[Step], settings: Mapping[str, int]) -> int:
    """About how long some steps take, in whole minutes, up."""
    return int(-(-sum(step_s(step, settings) for step in steps) // 60))


def reading_s(step: Step) -> float:
    """To read what a step says, and to answer."""
    if step.round == BY_ITSELF:
        return 0.0
    texts = [step.caution, step.before, step.happens, step.during, step.after, step.ask]
    words = sum(len(text.split()) for text in texts)
    answers = sum(bool(text) for text in (step.before, step.after, step.ask))
    return 60.0 * words / WORDS_A_MINUTE + ANSWER_S * answers


def hands_s(step: Step) -> int:
    """What hands and feet take."""
    return sum(HANDS_S[hand] for hand in step.hands)


def _board_s(step: Step, settings: Mapping[str, int]) -> float:
    primed_s = _CHECKED_S + _PRIMED_S
    at_once = step.rule and "prime" in ROWS[step.rule][WATCHED_IN]
    told = settings["pressure_fitted"] or settings["flow_fitted"]
    if not told and not at_once:
        primed_s += settings["prime_ms"] // 1000
    if step.timed == BEGAN:
        primed_s = 0  # What it measures begins with the start.
        if told:
            settings = {**settings, "prime_ms": 1000 * _PRIMED_S}
    if step.way in _BOARD_S:
        primes, more_s = _BOARD_S[step.way]
        return _CLEARED_S + primes * primed_s + more_s
    fixed = dict(line.split(" = ") for line in step.trial)
    settings = {**settings, **{key: int(fixed[key]) for key in fixed if fixed[key].isdigit()}}
    held_ms = max(sum_ms(step.within, settings), hold_ms(step.rule, settings) if step.rule else 0)
    if step.way == LOOK and (step.timed == TOLD or step.place == WATER):
        held_ms = _LOOKED_S * 1000
    started_s = 0
    if step.way == START:
        refused = step.place == BENCH or step.happens == "no start"
        started_s = _CHECKED_S if refused else primed_s
    return _CLEARED_S + started_s + held_ms / 1000.0
