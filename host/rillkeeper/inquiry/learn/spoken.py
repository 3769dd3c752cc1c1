"""What was learned, in words: each input, and what the sensors do not tell."""

from rillkeeper.display_units import counted, day_text
from rillkeeper.inquiry.learn.fit_site import Learned, LearnedInput
from rillkeeper.site.schema import Row

_DIGITS = 3
NOT_TOLD = "not told by these sensors"
AS_BEFORE = "as in the site file"
CHANGED = 1.0
"""So many spreads from the site file's value is worth a word."""


def shown_value(row: Row, value: float, system: str, digits: int = _DIGITS) -> str:
    """A value of an input as its owner writes it; plain numbers with few digits."""
    return row.show(value, system, digits) if row.in_units else f"{value:.{digits}g}"


def words_of(one: LearnedInput) -> str:
    """What became of an input."""
    if not one.told:
        return NOT_TOLD
    off = (one.value - one.about.centre) / one.spread if one.spread else 0.0
    if abs(off) < CHANGED:
        return AS_BEFORE
    return "more than in the site file" if off > 0.0 else "less than in the site file"


def notes(learned: Learned) -> list[str]:
    """What limits the answer, in sentences."""
    found = []
    silent = [one.about.name for one in learned.inputs if not one.told]
    if silent:
        found.append(
            f"These sensors do not tell: {', '.join(silent)}. Pressure and voltage alone cannot "
            "part a wider nozzle from a stronger pump or an easier hose: a bucket and a clock at "
            "the nozzle can."
        )
    if learned.site.solar.power_w > 0.0:
        found.append(
            "A panel charges this battery by day, and no record tells how much: what was learned "
            "of its capacity is not to be trusted."
        )
    if learned.left_out:
        nights = sorted({lived.evidence.night for lived in learned.left_out})
        found.append(
            f"{counted(len(learned.left_out), 'run')} left out, stopped, cut short or not like "
            f"the others: {', '.join(day_text(night) for night in nights)}."
        )
    if not learned.agrees:
        found.append(
            "Even so the readings lie further from the model than its errors explain: something "
            "has changed between these nights. Run `rillkeeper why` before you use these values."
        )
    return found
