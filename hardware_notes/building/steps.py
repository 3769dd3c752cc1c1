"""All steps in their order, the parts that each takes, and the ratings from the page of parts."""

import re
from collections import Counter
from pathlib import Path

from hardware_notes.building import card
from hardware_notes.building.finishing import FINISHING
from hardware_notes.building.joining import JOINING
from hardware_notes.building.making import MAKING
from hardware_notes.building.metering import METERING
from hardware_notes.building.powering import POWERING
from hardware_notes.building.second import SECOND
from hardware_notes.building.step import Need, Step

WITH_ONE_RELAY = MAKING + JOINING + POWERING + FINISHING
STEPS = WITH_ONE_RELAY + SECOND + METERING
_PARTS_PAGE = Path(__file__).parents[1] / "parts.md"
_ROW = re.compile(r"^\| ([^|]+) \| ([^|]+) \| \[", re.MULTILINE)

_ON_THE_CARD = {
    "suppressor 18 V": ("transient suppressor", ""),
    "Schottky 1 A, 40 V": ("reverse-polarity diode", ""),
    "470 µF": ("bulk capacitor", ""),
    "coil diode": ("diode over the coil", ""),
    "NPN": ("transistor", ""),
    "470 Ω": ("base resistor", ""),
    "suppressor 5 V": ("5 V suppressor", ""),
    "Schottky 1 A, 20 V": ("5 V diode", ""),
    "100 µF": ("5 V capacitor", ""),
    "0.2 A resettable": ("resettable fuse, 5 V to the transducer", ""),
    "0.1 A resettable": ("resettable fuse, 3.3 V to the frost sensor", ""),
    "1 kΩ": ("resistor before each input pin", ""),
    "clamp": ("clamp diodes", ""),
    "5.1 kΩ": ("pressure divider", "5.1 kΩ, 1 %"),
    "22 kΩ": ("battery divider", "22 kΩ, 1 %"),
    "100 nF": ("small filter capacitor", ""),
    "1000 nF": ("large filter capacitor", ""),
}
"""What a value on the card is called on the page of parts, and which piece of it."""


def _name(part: card.Part) -> tuple[str, str]:
    """A part of the card by its name on the page of parts: two values stand for two things."""
    if part.value == "10 kΩ":
        if part.id == "R2":
            return "resistor, base to ground", ""
        return "pressure divider", "10 kΩ, 1 %"
    if part.value == "4.7 kΩ":
        if part.id == "R71":
            return "load-sense divider", "4.7 kΩ, 5 %"
        return "resistor in each long lead", ""
    return _ON_THE_CARD[part.value]


def _soldered(parts: tuple[card.Part, ...]) -> tuple[Need, ...]:
    counts = Counter(_name(part) for part in parts if part.kind != "link" and not part.only)
    return tuple(Need(count, *name) for name, count in counts.items())


def needs_of(step: Step) -> tuple[Need, ...]:
    """What a step takes; what is only for a current sensor is not counted."""
    if step.picture == "card supply":
        return (Need(1, "card"), *_soldered(card.SUPPLY))
    if step.picture == "card inputs":
        return _soldered(card.INPUTS)
    return step.needs


def ratings() -> dict[str, str]:
    """Rating of each part, as the page of parts has it."""
    return dict(_ROW.findall(_PARTS_PAGE.read_text(encoding="utf-8")))


def totals() -> dict[str, int]:
    """How many of each part the guide takes with one relay; pieces of one purchase count once."""
    found: dict[str, int] = {}
    for step in WITH_ONE_RELAY:
        for need in needs_of(step):
            if need.piece:
                found.setdefault(need.part, 1)
            else:
                found[need.part] = found.get(need.part, 0) + need.count
    return found
