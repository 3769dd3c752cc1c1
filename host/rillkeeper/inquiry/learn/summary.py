"""What was learned, in words and numbers: each input, and predicted against recorded by night."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from rillkeeper.display_units import Shown, counted, day_text
from rillkeeper.inquiry.learn.fit_site import LearnedInput, LearnedSite
from rillkeeper.inquiry.learn.model import Quantity
from rillkeeper.site.schema import Row

QUANTITIES = (
    (Quantity.PRESSURE_PA, "pressure"),
    (Quantity.LOADED_V, "voltage"),
    (Quantity.REST_V, "voltage"),
)
_DIGITS = 3
NOT_TOLD = "not told by these sensors"
AS_BEFORE = "as in the site file"
CHANGED = 1.0
"""So many spreads from the site file's value is worth a word."""

BEYOND = 2.5
"""So many spreads from the site file's value: one sound site in eighty has such an input (normal
distribution)."""


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


def beyond(learned: LearnedSite) -> list[LearnedInput]:
    """Inputs that the nights put where no owner's lie: something is wrong, and it was learned."""
    return [one for one in learned.inputs if abs(one.about.z_of(one.value)) > BEYOND]


def notes(learned: LearnedSite) -> list[str]:
    """What limits the answer, in sentences."""
    found = []
    silent = [one.about.name for one in learned.inputs if not one.told]
    if silent:
        found.append(
            f"These sensors cannot tell: {', '.join(silent)}. Pressure and voltage alone cannot "
            "part a wider nozzle from a stronger pump or a wider hose: a bucket and a clock at "
            "the nozzle can."
        )
    if learned.site.solar.power_w > 0.0:
        found.append(
            "A panel charges this battery by day, and no record tells how much: what was learned "
            "of its capacity is not to be trusted."
        )
    if not all(lived.sunk.known for lived in learned.model.runs):
        found.append(
            "More was taken than the site file says was in the source: it was refilled, and its "
            "level is not known. What was learned of strainer and suction is not to be trusted; "
            "after a refill: --since."
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


@dataclass(frozen=True)
class NightMean:
    """One quantity of one night; means of its readings, in SI."""

    night: int
    quantity: str
    dimension: str
    recorded: float
    before: float
    """As the site file has it."""
    after: float
    """As learned."""


def night_means(learned: LearnedSite) -> Iterator[NightMean]:
    """Night by night."""
    model = learned.model
    nights = np.array([model.runs[r.run].evidence.night for r in model.readings])
    quantities = np.array([r.quantity.name for r in model.readings])
    for night in sorted(set(nights.tolist())):
        for quantity, dimension in QUANTITIES:
            these = (nights == night) & (quantities == quantity.name)
            if these.any():
                yield NightMean(
                    int(night),
                    quantity.value,
                    dimension,
                    float(model.recorded[these].mean()),
                    float(learned.before[these].mean()),
                    float(learned.after[these].mean()),
                )


def off_text(learned: LearnedSite, shown: Shown) -> str:
    """How far the readings are off in the middle, before and after, as a sentence."""
    model = learned.model
    quantities = np.array([r.quantity.name for r in model.readings])
    found = []
    for quantity, dimension in QUANTITIES:
        these = quantities == quantity.name
        if not these.any():
            continue
        before, after = (
            float(np.sqrt(np.mean((values[these] - model.recorded[these]) ** 2)))
            for values in (learned.before, learned.after)
        )
        found.append(
            f"{quantity.value} off by {shown.text(before, dimension)} with the site file, "
            f"{shown.text(after, dimension)} as learned"
        )
    text = "; ".join(found)
    return f"{text[:1].upper()}{text[1:]}."


def nights_text(learned: LearnedSite) -> str:
    """From which night to which."""
    nights = [lived.evidence.night for lived in learned.runs]
    first, last = min(nights), max(nights)
    return day_text(first) if first == last else f"{day_text(first)} to {day_text(last)}"


def how_much(learned: LearnedSite) -> str:
    """How much it was learned from, in a few words."""
    return (
        f"{counted(len(learned.runs), 'run')} and "
        f"{counted(len(learned.model.readings), 'reading')}"
    )
