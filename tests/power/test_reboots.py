"""The power is lost at ticks of a half-hour run; ``python -m tests.bench`` cuts at all 18,000."""

import pytest

from keeper import memory
from tests.power import reboots
from tests.power.ramboard import SET_S, SETTINGS

EVERY = 397
FAULT_TICK = 3000


@pytest.mark.parametrize("fault", reboots.FAULTS)
def test_the_power_comes_back(fault: str) -> None:
    """To a site that is well: the rest of the set is given. To one that is not: the board finds
    it in the fewest starts, or without any, and stops for good."""
    tried, found = reboots.sweep(fault, EVERY)
    assert not found
    assert tried >= SET_S * 10 // EVERY


@pytest.mark.parametrize("fault", [name for name in reboots.FAULTS if name != "none"])
def test_the_power_is_lost_before_and_after_a_trip(fault: str) -> None:
    every = 1201 if fault == "welded" else 3
    tried, found = reboots.sweep_fault(fault, FAULT_TICK, every)
    assert not found
    assert tried > 10


def test_the_run_limit_holds_over_both_parts() -> None:
    """Whatever was forgotten with the power is made up, and no more than the limit allows."""
    totals = reboots.totals_ms(every=59, memories=4)
    assert len(totals) >= 7
    assert min(totals) >= SET_S * 1000
    assert max(totals) > SET_S * 1000 + 50_000, "some cuts fell just before a minute was kept"
    assert max(totals) <= SETTINGS["run_max_s"] * 1000


@pytest.mark.parametrize("closed_ticks", [1, 12, 300])
def test_a_pump_that_resets_the_board_is_not_started_for_ever(closed_ticks: int) -> None:
    """The supply gives way at each start, so that no rule ever trips: the runs that the power
    broke off are counted."""
    assert reboots.starts_of_a_crash(closed_ticks) == 2


@pytest.mark.parametrize("fault", ["high pressure", "dry run", "dead head"])
def test_no_cuts_start_a_pump_again_and_again_whose_trip_was_lost(fault: str) -> None:
    """Each trip is lost with the power: one start more, and then a lockout (K28)."""
    assert reboots.starts_into(fault) == (2, "lockout")


def test_a_board_that_does_not_keep_that_a_run_is_open_is_found_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(memory, "_ADDED_BEFORE", ("starts",))
    starts, state = reboots.starts_into("high pressure")
    assert starts > 2
    assert state != "lockout"


def test_a_board_that_forgets_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same cuts find one whose memory is not what it should be."""
    save = memory.save

    def forgetful(keeper: object) -> str:
        return str(save(keeper)).replace("state lockout", "state idle")

    monkeypatch.setattr(memory, "save", forgetful)
    _, found = reboots.sweep_fault("high pressure", FAULT_TICK, every=3)
    assert found
