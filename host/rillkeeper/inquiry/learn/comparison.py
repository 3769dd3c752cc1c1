"""Predicted against recorded, night by night: what the site file said, what was learned."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from rillkeeper.display_units import Shown, day_text
from rillkeeper.inquiry.learn.fit_site import Learned
from rillkeeper.inquiry.learn.readings import Kind

QUANTITIES = (
    (Kind.PRESSURE_PA, "pressure"),
    (Kind.LOADED_V, "voltage"),
    (Kind.REST_V, "voltage"),
)


@dataclass(frozen=True)
class Row:
    """One quantity of one night; means of its readings, in SI."""

    night: int
    quantity: str
    dimension: str
    recorded: float
    before: float
    """As the site file has it."""
    after: float
    """As learned."""


def rows(learned: Learned) -> Iterator[Row]:
    """Night by night."""
    model = learned.model
    nights = np.array([model.runs[r.run].evidence.night for r in model.readings])
    kinds = np.array([r.kind.name for r in model.readings])
    recorded = np.array([r.value for r in model.readings])
    for night in sorted(set(nights.tolist())):
        for kind, dimension in QUANTITIES:
            these = (nights == night) & (kinds == kind.name)
            if these.any():
                yield Row(
                    int(night),
                    kind.value,
                    dimension,
                    float(recorded[these].mean()),
                    float(learned.before[these].mean()),
                    float(learned.after[these].mean()),
                )


def off_text(learned: Learned, shown: Shown) -> str:
    """How far the readings are off in the middle, before and after, as a sentence."""
    model = learned.model
    recorded = np.array([r.value for r in model.readings])
    kinds = np.array([r.kind.name for r in model.readings])
    found = []
    for kind, dimension in QUANTITIES:
        these = kinds == kind.name
        if not these.any():
            continue
        before, after = (
            float(np.sqrt(np.mean((values[these] - recorded[these]) ** 2)))
            for values in (learned.before, learned.after)
        )
        found.append(
            f"{kind.value} off by {shown.text(before, dimension)} with the site file, "
            f"{shown.text(after, dimension)} as learned"
        )
    text = "; ".join(found)
    return f"{text[:1].upper()}{text[1:]}."


def nights_text(learned: Learned) -> str:
    """From which night to which."""
    nights = [lived.evidence.night for lived in learned.runs]
    first, last = min(nights), max(nights)
    return day_text(first) if first == last else f"{day_text(first)} to {day_text(last)}"
