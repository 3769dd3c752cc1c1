"""What a step of the build guide is: parts, tools, what to do, and what the meter must read.

A part is named as on the page of parts, where its rating stands; a wire by its two ends, as in the
wire list.
"""

from dataclasses import dataclass

BEEP, OHM, VOLT, DIODE = "beep", "Ω", "V DC", "diode"


@dataclass(frozen=True)
class Need:
    """So many of a part; ``piece`` where only one piece of what is bought together is meant."""

    count: int
    part: str
    piece: str = ""


@dataclass(frozen=True)
class Check:
    """Both probes of the meter, its dial, and what it must read."""

    red: str
    black: str
    dial: str
    reads: str


@dataclass(frozen=True)
class Step:
    """One step of the guide."""

    title: str
    needs: tuple[Need, ...]
    tools: str
    do: tuple[str, ...]
    checks: tuple[Check, ...]
    wires: tuple[tuple[str, str], ...] = ()
    picture: str = "wires"
    """What is drawn: the step's own wires and checks, or one of "holes", "box", "card", "post"."""
    caution: str = ""
    also: str = ""
    """What is checked without a meter."""


FINGERS = "screwdrivers, wire stripper, crimping tool for ferrules"
