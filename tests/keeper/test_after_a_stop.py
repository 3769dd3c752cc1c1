"""A pump that is told to stop, or to run: does it? And settings that come in between."""

import pytest

from keeper.standstill import BY_ITSELF, INVERTED, STANDS, STAYED

from .standing import (
    FLOWING_PA,
    LIFT_MV,
    MINUTE,
    NO_BATTERY,
    SHUT_PA,
    STOP_MV,
    Watch,
    resting,
)

# Just after a stop: by the battery, and where that tells nothing by the pressure.


@pytest.mark.parametrize(
    ("off_ms", "mv", "pa", "bad", "sag_mv", "works"),
    [
        (3000, 12099, FLOWING_PA, {}, 600, STAYED),
        (3000, 12100, FLOWING_PA, {}, 600, STANDS),
        (2900, 12000, FLOWING_PA, {}, 600, STANDS),
        (14900, 12000, FLOWING_PA, {}, 600, STAYED),
        # A verdict begins in the window; later the battery sinks by itself.
        (15000, 12000, FLOWING_PA, {}, 600, STANDS),
        # A relay that never closed must not be taken for one that does not open.
        (3000, 11990, FLOWING_PA, {}, 100, STANDS),
        (3000, 12000, FLOWING_PA, {}, 101, STAYED),
        (3000, 12000, FLOWING_PA, {"battery": 1}, 600, STANDS),
        # The pressure has fallen by a quarter: whatever the battery does, the pump stands.
        (3000, 12000, 150001, {}, 600, STAYED),
        (3000, 12000, 150000, {}, 600, STANDS),
        (3000, 12000, 150000, {"pressure": 1}, 600, STAYED),
    ],
)
def test_after_a_stop(
    off_ms: int, mv: int, pa: int, bad: dict[str, int], sag_mv: int, works: int
) -> None:
    watch = Watch()
    watch.stop(sag_mv=sag_mv)
    assert watch.look(pa, mv, 100, off_ms, **bad) == works


@pytest.mark.parametrize(
    ("settings", "mv", "stop_pa", "pa", "works"),
    [
        # No battery channel, or a charger that lifts it: the pressure has the word.
        (NO_BATTERY, 0, FLOWING_PA, 150001, STAYED),
        (NO_BATTERY, 0, FLOWING_PA, 150000, STANDS),
        ({}, 12950, FLOWING_PA, 200000, STAYED),
        ({}, 12949, FLOWING_PA, 200000, STANDS),
        # With a panel, a battery that came up may have been lifted.
        ({"panel_fitted": 1}, 12200, FLOWING_PA, 200000, STAYED),
        ({"panel_fitted": 1}, 12200, FLOWING_PA, 150000, STANDS),
        # A line that was shut holds its pressure, one that was nearly empty has none to lose.
        (NO_BATTERY, 0, SHUT_PA, SHUT_PA, STANDS),
        (NO_BATTERY, 0, SHUT_PA, SHUT_PA + 400, STANDS),
        (NO_BATTERY, 0, SHUT_PA - 1, SHUT_PA - 1, STAYED),
        (NO_BATTERY, 0, 99999, 99999, STANDS),
        (NO_BATTERY, 0, 100000, 100000, STAYED),
    ],
)
def test_after_a_stop_by_the_pressure(
    settings: dict[str, int], mv: int, stop_pa: int, pa: int, works: int
) -> None:
    watch = Watch(**settings)
    watch.stop(stop_pa)
    assert watch.look(pa, mv, 100, 14900) == STANDS
    assert watch.look(pa, mv, 100, 15000) == works


def test_a_pump_that_goes_on_does_so_until_something_says_that_it_stands() -> None:
    for end in ({"mv": 12100}, {"pa": 150000}):
        watch = Watch()
        watch.stop()
        assert watch.look(FLOWING_PA, STOP_MV, 100, 5000) == STAYED
        for off_ms in (15000, 75000, 3600000):
            assert watch.look(FLOWING_PA, 11900, MINUTE, off_ms) == STAYED
        assert watch.look(FLOWING_PA, 13500, MINUTE, 3700000) == STAYED, "a charger"
        now: dict[str, int] = {"pa": FLOWING_PA, "mv": 11900, **end}
        assert watch.look(**now) == STANDS
        assert watch.look(**now) == STANDS


# Other settings.


def handed_on(watch: Watch, **settings: int) -> Watch:
    other = Watch(**settings)
    assert (other.it.works, other.it.doubt) == (STANDS, False)
    other.it.go_on(watch.it)
    return other


def test_other_settings_go_on_from_these() -> None:
    assert handed_on(Watch()).look() == STANDS
    assert handed_on(resting()).look(FLOWING_PA, 12400) == BY_ITSELF
    watch = resting()
    watch.it.looked(250000)
    other = handed_on(watch)
    other.look(300000)
    assert not other.it.doubt


def test_other_settings_just_after_a_stop() -> None:
    watch = Watch()
    watch.stop()
    assert handed_on(watch).look(FLOWING_PA, STOP_MV + 99, 100, 5000) == STAYED
    assert watch.look(FLOWING_PA, STOP_MV, 100, 5000) == STAYED
    assert handed_on(watch).look(FLOWING_PA, 11900, MINUTE, 75000) == STAYED
    for pa, works in ((150001, STAYED), (150000, STANDS)):
        watch = Watch(**NO_BATTERY)
        watch.stop()
        assert handed_on(watch, **NO_BATTERY).look(pa, 0, 100, 15000) == works


# While it is told to run.


@pytest.mark.parametrize(
    ("settings", "on_ms", "sag_mv", "lift_mv", "works"),
    [
        ({}, 2000, -101, LIFT_MV, INVERTED),
        ({}, 1999, -101, LIFT_MV, STANDS),
        ({}, 2000, -100, LIFT_MV, STANDS),
        ({}, 2000, -10, 3, STANDS),
        ({}, 2000, -10, 4, INVERTED),
        ({"load_sense_fitted": 1}, 2000, -101, LIFT_MV, STANDS),
        ({"battery_fitted": 0}, 2000, -101, LIFT_MV, STANDS),
    ],
)
def test_a_battery_that_comes_up_at_the_start(
    settings: dict[str, int], on_ms: int, sag_mv: int, lift_mv: int, works: int
) -> None:
    watch = Watch(**settings)
    watch.it.pump_on(on_ms, sag_mv, lift_mv)
    assert watch.it.works == works


def test_other_settings_do_not_make_a_stuck_reading_a_pump() -> None:
    watch = Watch(**NO_BATTERY)
    watch.stop()
    other = handed_on(watch, **NO_BATTERY)
    assert other.look(FLOWING_PA, 0, 100, 15000, stuck=True) == STANDS
