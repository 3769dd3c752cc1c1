"""A flow meter's pulses, counted by the interrupts of its pin."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from device import pins
from device.pulses import Pulses
from keeper.ticks import MASK


class Lead:
    """The meter's pin."""

    IRQ_FALLING = 4

    def __init__(self) -> None:
        self.interrupts: list[tuple[Callable[[Any], None], bool]] = []

    def irq(self, handler: Callable[[Any], None], trigger: int, hard: bool = False) -> None:
        assert trigger == self.IRQ_FALLING
        self.interrupts.append((handler, hard))

    def pulse(self, times: int) -> None:
        [(handler, _)] = self.interrupts
        for _ in range(times):
            handler(self)


class SoftLead(Lead):
    """On a port that knows no hard interrupts."""

    def irq(self, handler: Callable[[Any], None], trigger: int) -> None:  # type: ignore[override]
        Lead.irq(self, handler, trigger)


@pytest.mark.parametrize("lead", [Lead(), SoftLead()])
def test_they_are_counted_between_two_looks(lead: Lead) -> None:
    flow = Pulses(lead)
    assert [hard for _, hard in lead.interrupts] == [type(lead) is Lead]
    assert flow.take() == 0
    lead.pulse(7)
    assert (flow.take(), flow.take(), flow.total) == (7, 0, 7)


def test_they_are_counted_over_the_end_of_the_counter() -> None:
    lead = Lead()
    flow = Pulses(lead)
    flow.total = MASK - 2
    flow.take()
    lead.pulse(5)
    assert flow.total == 2
    assert flow.take() == 5


def test_the_inputs_count_them_from_when_a_meter_is_fitted() -> None:
    """Other settings of a board with a meter do not count anew."""
    made: list[Lead] = []

    def pin(number: int, mode: str, pull: str) -> Lead:
        assert (number, mode, pull) == (22, "in", "up")
        made.append(Lead())
        return made[-1]

    pin.IN, pin.PULL_UP = "in", "up"  # type: ignore[attr-defined]
    none = SimpleNamespace(read=lambda: 0)
    still = SimpleNamespace(value=lambda: 1)
    read = pins.Inputs([none] * 4, still, still, still)
    read.read()
    assert read.pulses == 0
    for _ in range(2):
        read.count_pulses(SimpleNamespace(Pin=pin), pins.TABLE["rp2"])
    [lead] = made
    lead.pulse(3)
    read.read()
    assert read.pulses == 3
    read.read()
    assert read.pulses == 0
