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
    """Both probes of the meter, its dial, what it must read, and what another reading means."""

    red: str
    black: str
    dial: str
    reads: str
    wrong: str


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
    """What is drawn above the step's own wires and checks: a name in ``drawings/guide.py``."""
    caution: str = ""
    also: tuple[str, ...] = ()
    """What is checked in another way than by the meter at two terminals."""
    optional: bool = False
    """Only for a second relay or a flow meter; not counted in the list of parts."""


FINGERS = "screwdrivers, wire stripper, crimping tool for ferrules"
