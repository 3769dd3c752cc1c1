"""One step of the proof, as a row of data; ``steps.py`` has the rows."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from keeper.rules import HOLD, NAME, NEEDS, RULES

BUILD, SEASON, BY_ITSELF = "build", "season", "by-itself"
"""The rounds in which steps are walked: ``rounds.py``."""

BENCH, WATER = "pump unplugged", "pump on"

START = "start"
"""The pump is started by hand and the rule must stop it; "during" is said once water flows."""
LOOK = "look"
"""Nothing is started: the board must see by itself what the person does."""
ASK = "ask"
"""Nothing is started: the person's word is all that there can be."""
DRIFT, HALT = "drift", "halt"
DEAD, CLICK, POLARITY, BATTERY, ZERO, PRESSURE = (
    "dead", "click", "polarity", "battery", "zero", "pressure"
)  # fmt: skip
BUTTON, RAIN, POWER, HAND_SWITCH, CUT_OUT, FUSE, TUB = (
    "button", "rain", "power", "hand switch", "cut-out", "fuse", "tub"
)  # fmt: skip
"""Each has a function of its own: ``measure.py``, ``tub.py``, ``special_steps.py``,
``supply_steps.py``."""

HELD, VALUE, SET, BEGAN, PRIMED, TOLD = "held", "value", "set", "start", "primed", "told"
"""How a time is measured: how long the board saw the limit passed before it acted; what it
judged; or by the times in its log since the check, the start of the pump or the prime; or, where
nothing in the log marks the cause, since the person said that it was done."""

RESOLUTION_MS = {HELD: 100, VALUE: 100, SET: 1000, BEGAN: 1000, PRIMED: 1000, TOLD: 1000}
"""The board ticks ten times a second; its log is to the second."""

SLACK_MS = 300
"""A tick, one write of the flash and rounding: no protection is later than that."""

ROWS = {row[NAME]: row for row in RULES}


@dataclass(frozen=True)
class Step:
    """One step. Its texts are what the person reads."""

    id: str
    title: str
    way: str
    before: str
    """What the person does first; confirmed."""
    happens: str
    """What must happen."""
    rule: str = ""
    """The rule that it proves, by the name in ``keeper.rules``."""
    round: str = BUILD
    place: str = WATER
    during: str = ""
    after: str = ""
    ask: str = ""
    """What only a person can see, after the board's own verdict: a "no" fails the step."""
    caution: str = ""
    hands: tuple[str, ...] = ()
    """What hands and feet do, by the names in ``minutes.HANDS_S``."""
    trial: tuple[str, ...] = ()
    """Settings for this step only: "key = number", "key = other - 3"."""
    timed: str = HELD
    within: tuple[str | int, ...] = ()
    """What the measured time may be, as a sum: settings (_ms, _s) and milliseconds."""
    unit: str = "ms"
    """Of what is measured: "ms", or what a VALUE counts ("s" is brought to ms)."""
    patience: tuple[str | int, ...] = ()
    """How long the host waits, in the same manner, and the person's hands with it."""
    needs: str = ""
    """Sensors that must be fitted, and (with "!") must not be."""
    starts: int = 1
    """How often the pump may be started until the rule is met."""
    first: tuple[str, ...] = ()
    """Rules that may trip before it: at the earlier of these starts; of a single one, where the
    board then rests and goes on by itself, at any time."""

    def fits(self, settings: Mapping[str, int]) -> bool:
        """Whether this board has the sensors for it."""
        return all(
            _fitted(word.lstrip("!"), settings) != word.startswith("!")
            for word in (self.needs + " " + rule_needs(self.rule)).split()
        )


def rule_needs(rule: str) -> str:
    """Sensors that a rule cannot do without."""
    return str(ROWS[rule][NEEDS]) if rule else ""


def _fitted(need: str, settings: Mapping[str, int]) -> bool:
    """Whether the sensor is there, or of several parted by a stroke one."""
    return any(settings[f"{sensor}_fitted"] for sensor in need.split("/"))


def hold_ms(rule: str, settings: Mapping[str, int]) -> int:
    """How long a rule waits before it acts."""
    hold: Any = ROWS[rule][HOLD]
    return settings[hold] if isinstance(hold, str) else int(hold)


def sum_ms(terms: tuple[str | int, ...], settings: Mapping[str, int]) -> int:
    """A sum of settings and milliseconds.

    >>> sum_ms(("run_max_s", "dry_hold_ms", 300), {"run_max_s": 60, "dry_hold_ms": 8000})
    68300
    """
    total = 0
    for term in terms:
        if isinstance(term, int):
            total += term
        else:
            total += settings[term] * (1000 if term.endswith("_s") else 1)
    return total


def trial_values(
    lines: tuple[str, ...], settings: Mapping[str, int], battery_mv: int
) -> dict[str, int]:
    """The settings of a trial.

    >>> trial_values(("floor_mv = charging_mv - 3",), {"charging_mv": 12950}, 12600)
    {'floor_mv': 12947}
    """
    known = {**settings, "battery_mv": battery_mv}
    found = {}
    for line in lines:
        key, _, expression = line.partition(" = ")
        total, sign = 0, 1
        for word in expression.split(" "):
            if word in ("+", "-"):
                sign = 1 if word == "+" else -1
            else:
                total += sign * (int(word) if word.isdigit() else known[word])
        found[key] = total
    return found


_RELAY = ("relay closed", "relay open", "relay chatter")


def unprotected(settings: Mapping[str, int]) -> list[str]:
    """Rules whose sensor is not fitted: nothing stands behind them.

    The relay's own are watched over the load side or, in its place, over the battery.
    """
    found = []
    relay_seen = settings["load_sense_fitted"] or settings["battery_fitted"]
    for row in RULES:
        fitted = all(_fitted(need, settings) for need in row[NEEDS].split())
        if not fitted or (row[NAME] in _RELAY and not relay_seen):
            found.append(row[NAME])
    return found
