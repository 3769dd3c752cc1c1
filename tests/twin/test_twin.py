"""The twin: what the control package writes in CPython, the whole firmware writes as well.

The same nights over the same plant, once with ``keeper`` alone, once with boot.py, main.py and
the device package in MicroPython, from a littlefs image, behind converter counts and pin levels.
The log read back from that flash must be the same bytes. ``python -m tests.twin`` compares every
fault of the catalogue.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from keeper.rules import NO_FLOW, number_of
from keeper.second_relay import RELAY_STUCK
from rillkeeper.site.file import demo_site
from rillsim.site import SetSpec
from tests.interpreters import rigs
from tests.twin.nights import fault_in_the_first_night, site_for, twins

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("twin")]

Need = Callable[[str], Path]

# Ten and three quarter hours after the first noon the first set is under way.
FIRST_MS = 2**30 - int(10.75 * 3600 * 1000)

BAD_METER = number_of("bad meter")

SHORT = replace(demo_site(), sets=(SetSpec(amount=30.0, runs=2, soak_s=600),))
"""`make twin` tries each fault in the whole set of the demonstration."""


@pytest.mark.slow
def test_the_demo_week(need: Need, tmp_path: Path) -> None:
    """Two nights of it, the counter's wrap while the pump runs; the battery goes home earlier.

    `make twin` plays all seven.
    """
    site = demo_site()
    soon = replace(site, battery_trips=(replace(site.battery_trips[0], after_night=1),))
    both = twins(need("micropython"), tmp_path, 2, first_ms=FIRST_MS, site=soon)
    log = both.alone.log
    assert len(log) > 100
    assert sum(" night " in line for line in log) == 2
    assert sum(" boot cause=1 " in line for line in log) >= 1, "no trip home, no restart"
    assert both.difference() == ""
    assert "\n".join(both.whole.log).encode() == "\n".join(log).encode()


@pytest.mark.parametrize(
    "name", ["outlet_shut", "source_empty", "weak_cell", "battery_lifted", "clock_lost"]
)
def test_a_night_with_a_fault(name: str, need: Need, tmp_path: Path) -> None:
    """Trips, retries, lost power and a lost clock go through the same records."""
    both = twins(need("micropython"), tmp_path, 1, (fault_in_the_first_night(name),), site=SHORT)
    assert both.alone.faults[-1].felt, "the fault had no effect: nothing was tested"
    assert both.difference() == ""


def test_a_night_with_two_relays(need: Need, tmp_path: Path) -> None:
    """Both pins of the firmware do what the control package wants; the second relay welds."""
    name = "second_relay_welded"
    fault, site = fault_in_the_first_night(name), site_for(name, SHORT)
    both = twins(need("micropython"), tmp_path, 1, (fault,), site=site)
    assert both.alone.faults[-1].felt
    assert sum(" start " in line for line in both.alone.log) == 1, "no other run of the set"
    assert any(f" trip rule={RELAY_STUCK} " in line for line in both.alone.log)
    assert both.difference() == ""


@pytest.mark.parametrize("transducer", [True, False], ids=["beside a transducer", "alone"])
def test_a_night_with_a_flow_meter(transducer: bool, need: Need, tmp_path: Path) -> None:
    """Its pulses come by interrupts, and its litres are the same; then its wheel stands still."""
    fault = fault_in_the_first_night("meter_stuck")
    site = site_for(fault.name, SHORT)
    site = replace(site, board=replace(site.board, pressure_fitted=transducer))
    both = twins(need("micropython"), tmp_path, 1, (fault,), site=site)
    assert both.alone.faults[-1].felt
    warned = any(f" warn rule={BAD_METER} " in line for line in both.alone.log)
    assert warned == transducer, "alone it is not told from a dry pump"
    assert any(f" trip rule={NO_FLOW} " in line for line in both.alone.log)
    assert both.difference() == ""


def test_a_night_without_a_clock_chip(need: Need, tmp_path: Path) -> None:
    """The board's clock stands still in each nap, as on silicon; the set comes all the same."""
    site = replace(SHORT, board=replace(SHORT.board, clock_backed=False))
    both = twins(need("micropython"), tmp_path, 1, site=site)
    given = [set_times(log) for log in (both.alone.log, both.whole.log)]
    assert len(given[0]) == 1
    assert given[0] == given[1], "to the minute, like a board that does not nap"
    assert not any(" clock " in line and "verdict=0" not in line for line in both.whole.log)


def set_times(log: tuple[str, ...]) -> list[str]:
    """Date, hour and minute at which sets were taken up."""
    return [line.split(" ", 1)[1][:16] for line in log if " set set=" in line]


def test_the_comparison_can_fail(need: Need, tmp_path: Path) -> None:
    """A firmware that has two channels swapped writes another log, and starts no pump."""
    firmware = tmp_path / "firmware"
    (firmware / "device").mkdir(parents=True)
    for path in rigs.FIRMWARE.iterdir():
        if path.name != "device":
            (firmware / path.name).symlink_to(path)
    for path in (rigs.FIRMWARE / "device").glob("*.py"):
        text = path.read_text(encoding="utf-8")
        text = text.replace('"battery": 26', '"battery": 27')
        text = text.replace('"pressure": 27', '"pressure": 26')
        (firmware / "device" / path.name).write_text(text, encoding="utf-8")
    both = twins(need("micropython"), tmp_path, 1, firmware=firmware, site=SHORT)
    assert both.difference()
    assert any(" start " in line for line in both.alone.log)
    assert not any(" start " in line for line in both.whole.log)
