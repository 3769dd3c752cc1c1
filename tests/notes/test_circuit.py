"""The circuit of the guide, solved: a ground wire off, and battery plus on a lead.

The circuit is taken from the card's holes and the wire list, with one wire left out, and solved
for its direct currents: Kirchhoff's laws, Shockley's diode and the Ebers-Moll transistor (J. J.
Ebers and J. L. Moll, Proc. IRE 42, 1954; from memory). The values of diodes, transistor and board
are rules of thumb without a source. A coil lets go below a tenth of its voltage (from memory).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import exp

import numpy as np
import pytest

pytest.importorskip("schemdraw")

from hardware_notes.building import card
from hardware_notes.building.terminals import SIGNALS
from hardware_notes.building.wires import WIRES
from tests.notes.constants import constants
from tests.notes.sums import blocks

BATTERY_V, CONVERTER_V = 12.65, 5.0
_CHOSEN = {line.name: line.value for line in blocks("parts.md")[0]}
COIL_OHM = _CHOSEN["coil_ohm"]
TRANSISTORS = ("Q1", "Q2")
HOLDS_A = 0.1 * BATTERY_V / COIL_OHM
_THERMAL_V = 0.02585
_SATURATION_A = {"clamp": 1e-9, "Schottky": 1e-6}
_IDEALITY = {"clamp": 1.8}
_BREAKDOWN_V = {"suppressor 18 V": 20.0, "suppressor 5 V": 6.4}


@dataclass(frozen=True)
class Branch:
    """A way from one node to another: current at a voltage, and its slope."""

    start: str
    end: str
    law: Callable[[float], tuple[float, float]]


def resistor(start: str, end: str, ohm: float, source_v: float = 0.0) -> Branch:
    """``source_v`` is a battery in series that lifts the start above the end."""
    return Branch(start, end, lambda v: ((v - source_v) / ohm, 1.0 / ohm))


def _junction(v: float, saturation_a: float, thermal_v: float) -> tuple[float, float]:
    """Shockley, and from 0.9 V or so on the straight line that touches it."""
    knee = thermal_v * np.log(2.0 / saturation_a)
    top = exp(min(v, knee) / thermal_v)
    slope = saturation_a * top / thermal_v
    return saturation_a * (top - 1.0) + slope * max(v - knee, 0.0), slope + 1e-12


def diode(anode: str, cathode: str, value: str) -> Branch:
    """A diode of the card, or of the board's pins."""
    kind = value.split()[0]
    saturation_a = _SATURATION_A.get(kind, 1e-12)
    thermal_v = _THERMAL_V * _IDEALITY.get(kind, 1.0)
    breakdown_v = _BREAKDOWN_V.get(value, 100.0)

    def law(v: float) -> tuple[float, float]:
        forward = _junction(v, saturation_a, thermal_v)
        backward = _junction(-v - breakdown_v, saturation_a, thermal_v)
        return forward[0] - backward[0], forward[1] + backward[1]

    return Branch(anode, cathode, law)


def _ohm(value: str) -> float:
    number, unit = value.split()
    return float(number) * (1e3 if unit == "kΩ" else 1.0)


def _card(emitter: str) -> list[Branch]:
    """Resistors, diodes and fuses; the transistor stands in ``solve``."""
    branches = []
    for part in card.PARTS:
        first, second = f"{part.id}.1", f"{part.id}.2"
        if part.kind == "R":
            branches.append(resistor(first, second, _ohm(part.value)))
        elif part.kind == "F":
            branches.append(resistor(first, second, 3.0))
        elif part.kind == "D":
            # The first leg is the ring: the cathode.
            branches.append(diode(second, first, part.value))
    return branches + [
        resistor(f"{one}.3" if emitter == "card" else f"{one}.free", f"{one}.emitter", 1e-2)
        for one in TRANSISTORS
    ]


def _board(pin_high: bool) -> list[Branch]:
    """A board that takes some 40 mA, its pins with their own diodes, both relays' pins driven."""
    parts = [
        resistor("A1.5V", "A1.3V3", 34.0),
        resistor("A1.3V3", "A1.GND1", 82.0),
        resistor("A1.GND1", "A1.GND2", 1e-2),
        *(
            resistor(f"A1.{pin}", "A1.3V3" if pin_high else "A1.GND1", 40.0)
            for pin in ("relay", "second_relay")
        ),
    ]
    for name in SIGNALS:
        parts += [diode(f"A1.{name}", "A1.3V3", "pin"), diode("A1.GND1", f"A1.{name}", "pin")]
    return parts


def _outside() -> list[Branch]:
    """What hangs on the card: battery, fuses, coil, pump, converter, transducer."""
    closed = ("BAT.+", "F0.2"), ("F1.1", "F1.2"), ("F2.1", "F2.2"), ("S1.1", "S1.2")
    return [
        *(resistor(start, end, 0.01) for start, end in (*closed, ("S2.1", "S2.2"))),
        resistor("BAT.+", "BAT.-", 0.01, BATTERY_V),
        resistor("X1.2", "X1.3", 100e3),
        resistor("X1.4", "X1.5", _CHOSEN["load_top_ohm"]),
        resistor("K1.86", "K1.85", COIL_OHM),
        resistor("K2.86", "K2.85", COIL_OHM),
        resistor("M1.+", "M1.-", 0.3),
        resistor("U1.OUT+", "U1.IN-", 0.5, CONVERTER_V),
        resistor("U1.IN+", "U1.IN-", 600.0),
        resistor("P1.+", "P1.-", 1000.0),
        resistor("G1.+", "G1.-", 500.0),
        resistor("U2.VCC", "U2.GND", 10e3),
    ]


def _nodes(branches: Iterable[Branch], off: tuple[str, str] | None) -> dict[str, int]:
    """A number for each node: copper and wires join, but for the wire that is off."""
    groups: list[set[str]] = [set(net) for net in card.nets()]
    groups += [{w.start, w.end} for w in WIRES if (w.start, w.end) != off]
    groups += [{"X2.1", "X2.2", "X2.3", "X2.4"}]
    groups += [{end} for branch in branches for end in (branch.start, branch.end)]
    merged: list[set[str]] = []
    for group in groups:
        touching = [one for one in merged if one & group]
        merged = [one for one in merged if not one & group] + [group.union(*touching)]
    return {name: number for number, one in enumerate(merged) for name in one}


def volts_of(
    pin_high: bool,
    off: tuple[str, str] | None = None,
    emitter: str = "card",
    chafed: tuple[str, str] | None = None,
) -> dict[str, float]:
    """Voltage of each terminal against the battery's minus [V]; ``chafed`` are two that touch."""
    branches = [*_card(emitter), *_board(pin_high), *_outside()]
    if chafed:
        branches.append(resistor(*chafed, 0.1))
    if emitter == "bar":
        branches += [resistor(f"{one}.emitter", "X2.1", 1e-2) for one in TRANSISTORS]
    node = _nodes(branches, off)
    volts = _solve(branches, node)
    return {name: float(volts[number]) for name, number in node.items()}


def coil_a(volts: dict[str, float], relay: str = "K1") -> float:
    """Current of a relay's coil [A]."""
    return (volts[f"{relay}.86"] - volts[f"{relay}.85"]) / COIL_OHM


def board_v(volts: dict[str, float]) -> float:
    """What the board is fed with [V]."""
    return volts["A1.5V"] - volts["A1.GND1"]


def _solve(branches: list[Branch], node: dict[str, int]) -> np.ndarray:
    """Newton's method on the sums of currents at all nodes; the battery's minus is zero."""
    count = max(node.values()) + 1
    volts = np.zeros(count)
    transistors = [(node[f"{q}.2"], node[f"{q}.1"], node[f"{q}.emitter"]) for q in TRANSISTORS]
    for _ in range(4000):
        slopes = np.eye(count) * 1e-9
        sums = 1e-9 * volts
        for branch in branches:
            a, b = node[branch.start], node[branch.end]
            current, slope = branch.law(volts[a] - volts[b])
            _stamp(slopes, sums, a, b, current, ((a, slope), (b, -slope)))
        for legs in transistors:
            _transistor(slopes, sums, volts, legs)
        zero = node["BAT.-"]
        slopes[zero], sums[zero] = np.eye(count)[zero], volts[zero]
        step = np.linalg.solve(slopes, -sums)
        volts = volts + np.clip(step, -0.1, 0.1)
        if np.abs(step).max() < 1e-9:
            return volts
    raise AssertionError("the circuit was not solved")


def _transistor(
    slopes: np.ndarray, sums: np.ndarray, volts: np.ndarray, legs: tuple[int, int, int]
) -> None:
    """Ebers and Moll, gain 100 forward and 1 in reverse; legs are base, collector, emitter."""
    base, collector, emitter = legs
    forward = _junction(volts[base] - volts[emitter], 1e-14, _THERMAL_V)
    reverse = _junction(volts[base] - volts[collector], 1e-14, _THERMAL_V)
    through = (
        (base, forward[1] - reverse[1]),
        (emitter, -forward[1]),
        (collector, reverse[1]),
    )
    _stamp(slopes, sums, collector, emitter, forward[0] - reverse[0], through)
    for end, (current, slope), gain in ((emitter, forward, 100.0), (collector, reverse, 1.0)):
        slope /= gain
        _stamp(slopes, sums, base, end, current / gain, ((base, slope), (end, -slope)))


def _stamp(
    slopes: np.ndarray,
    sums: np.ndarray,
    start: int,
    end: int,
    current: float,
    by: tuple[tuple[int, float], ...],
) -> None:
    sums[start] += current
    sums[end] -= current
    for number, slope in by:
        slopes[start, number] += slope
        slopes[end, number] -= slope


TO_THE_BAR = ("A1.GND1", "X2.3")
TO_THE_CARD = ("A1.GND2", "X5.11")


def test_the_circuit_works() -> None:
    still, running = volts_of(pin_high=False), volts_of(pin_high=True)
    for relay in ("K1", "K2"):
        assert coil_a(still, relay) < 1e-3
        assert coil_a(running, relay) > 0.9 * (BATTERY_V - 0.6) / COIL_OHM
    assert 4.0 < board_v(still) < 5.0
    scale = constants()["battery_full_mv"] / constants()["converter_full_mv"]
    for volts in (still, running):
        read_v = (volts["A1.battery"] - volts["A1.GND1"]) * scale
        # Both coils' 0.28 A over the 10 mΩ between the board's GND pins are three steps of the
        # converter at the battery.
        assert read_v == pytest.approx(volts["X1.2"], abs=0.015)


@pytest.mark.parametrize("off", [TO_THE_BAR, TO_THE_CARD])
@pytest.mark.parametrize("pin_high", [False, True])
def test_a_ground_that_is_off_opens_the_relay(off: tuple[str, str], pin_high: bool) -> None:
    volts = volts_of(pin_high, off)
    assert coil_a(volts) < HOLDS_A
    assert coil_a(volts, "K2") < HOLDS_A
    assert board_v(volts) < 5.5


def test_an_emitter_on_the_bar_would_close_it() -> None:
    """What W11 of the review reasoned: with a pin that is low, and a board that is dead."""
    volts = volts_of(False, TO_THE_BAR, emitter="bar")
    assert board_v(volts) < 3.0
    assert coil_a(volts) > 5.0 * HOLDS_A
    assert coil_a(volts_of(False, None, emitter="bar")) < 1e-3


@pytest.mark.parametrize(
    ("lead", "signal", "guard"),
    [
        ("X3.1", "pressure", "R12"),
        ("X3.4", "frost", "R22"),
        ("X3.7", "rain", "R32"),
        ("X3.9", "button", "R42"),
        ("X3.11", "current", "R52"),
        ("X3.13", "flow", "R82"),
    ],
)
def test_battery_plus_on_a_lead_leaves_the_pin_alive(lead: str, signal: str, guard: str) -> None:
    """W12 of the review. A pin stands some milliamperes for a while (common practice)."""
    sound = volts_of(False)
    volts = volts_of(False, chafed=("BAT.+", lead))
    through_a = (volts[f"{guard}.1"] - volts[f"A1.{signal}"]) / _CHOSEN["guard_ohm"]
    assert 0.0 < through_a < 1e-3
    assert volts["A1.3V3"] - sound["A1.3V3"] < 0.2
    assert coil_a(volts) < 1e-3
