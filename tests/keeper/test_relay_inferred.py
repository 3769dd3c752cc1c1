"""A relay that is not read: told by the battery, which comes up when the pump stops.

Lift is 400 mV here, so that the battery must come up by more than 100 mV.
"""

import pytest

from keeper.relaywatch import RelayWatch

from .bench import part

LIFT_MV = 400
STOP_MV = 12000


def watch(**changes: int) -> RelayWatch:
    return part(RelayWatch, **{"load_sense_fitted": 0, **changes})


def closed(after_ms: int, battery_mv: int, bad: int = 0, sag_mv: int = 600) -> int:
    inferred = watch()
    inferred.stopped(sag_mv, STOP_MV, LIFT_MV)
    inferred.pump_off(after_ms, 0, battery_mv, bad)
    return int(inferred.closed_off)


@pytest.mark.parametrize(("battery_mv", "verdict"), [(12099, 1), (12100, 0), (12400, 0)])
def test_a_battery_that_does_not_come_up(battery_mv: int, verdict: int) -> None:
    assert closed(3000, battery_mv) == verdict


@pytest.mark.parametrize(("after_ms", "verdict"), [(2900, 0), (3000, 1), (14900, 1), (15000, 0)])
def test_only_just_after_a_stop(after_ms: int, verdict: int) -> None:
    """Later the battery sinks by itself, and in the minutes after a stop it still comes up."""
    assert closed(after_ms, STOP_MV) == verdict


@pytest.mark.parametrize(("sag_mv", "verdict"), [(100, 0), (101, 1)])
def test_a_pump_that_was_not_felt_is_not_missed(sag_mv: int, verdict: int) -> None:
    """A relay that never closed must not be taken for one that does not open."""
    assert closed(3000, STOP_MV, sag_mv=sag_mv) == verdict


def test_a_bad_battery_reading_tells_nothing() -> None:
    assert closed(3000, STOP_MV, bad=1) == 0


def test_neither_channel() -> None:
    """Without load sense and battery nothing is inferred."""
    blind = watch(battery_fitted=0)
    blind.stopped(600, STOP_MV, LIFT_MV)
    blind.pump_off(3000, 1, STOP_MV, 0)
    assert blind.closed_off == 0
