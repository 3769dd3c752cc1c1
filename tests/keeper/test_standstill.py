"""Does the pump stand when it is told to? Tick by tick (the numbers: standing.py)."""

import pytest

from keeper.standstill import BY_ITSELF, INVERTED, SINCE_POWER, STANDS, STAYED

from .standing import (
    FLOWING_PA,
    LIFT_MV,
    MINUTE,
    NO_BATTERY,
    REST_MV,
    Watch,
    resting,
)

# Later, in quiet: pressure and sag together.


@pytest.mark.parametrize(
    ("pa", "mv", "works"),
    [
        (100001, 12499, BY_ITSELF),
        (100000, 12499, STANDS),
        (100001, 12500, STANDS),
        (450000, 12499, BY_ITSELF),  # above the rating
        (0, 12000, STANDS),  # another load on the battery
    ],
)
def test_pressure_and_sag_together(pa: int, mv: int, works: int) -> None:
    assert resting().look(pa, mv) == works


def test_it_is_told_until_it_stands() -> None:
    watch = resting()
    for mv in (12400, 12300, 12000):
        assert watch.look(FLOWING_PA, mv) == BY_ITSELF
    assert watch.look(0, 12500) == STANDS


def test_the_line_fills_before_there_is_pressure() -> None:
    """The battery sags minutes before: a rest is not forgotten so soon."""
    watch = resting()
    for pa in (0, 10000, 30000):
        assert watch.look(pa, 12400) == STANDS
    assert watch.look(FLOWING_PA, 12400) == BY_ITSELF


def test_a_battery_that_slowly_sinks_does_not_sag() -> None:
    watch = resting()
    for mv in range(REST_MV, 12000, -20):
        watch.look(0, mv)
    assert watch.look(FLOWING_PA, 11980) == STANDS


def test_the_rest_follows_a_fifth_of_a_sag_in_a_minute_of_looks_or_ticks() -> None:
    for dt_ms in (MINUTE, 100):
        watch = resting()
        for _ in range(4 * MINUTE // dt_ms):
            watch.look(0, 12480, dt_ms)
        # 4 times 20 mV down from 12600, and no further.
        assert watch.look(FLOWING_PA, 12419, dt_ms) == BY_ITSELF
        assert watch.look(FLOWING_PA, 12420, dt_ms) == STANDS


@pytest.mark.parametrize("dt_ms", [MINUTE, 1000])
def test_the_sun_on_a_shut_hose(dt_ms: int) -> None:
    """Half a bar a minute: the battery does not feel it, and nor does a board without one."""
    for settings in ({}, NO_BATTERY):
        watch = resting(**settings)
        for ms in range(0, 7 * MINUTE, dt_ms):
            assert watch.look(50000 * ms // MINUTE, REST_MV, dt_ms) == STANDS
            assert not watch.it.doubt


def test_a_line_that_is_shut_and_steps_up_is_how_it_stands() -> None:
    """Ten seconds of looking closely; then it is no more than the line's pressure."""
    watch = resting()
    watch.look(150000, REST_MV)
    closely = 0
    while watch.it.doubt:
        assert watch.look(150000, REST_MV, 100) == STANDS
        closely += 1
    assert closely == 100
    assert watch.look(150000, 12400, 100) == STANDS
    assert watch.look(250001, 12000, 100) == BY_ITSELF


@pytest.mark.parametrize("lifted_mv", [12950, 14400])
def test_a_charger_s_voltage_is_no_rest(lifted_mv: int) -> None:
    """A full battery's is taken in its place; while it is lifted, the battery tells nothing."""
    for mv, works in ((12450, STANDS), (12449, BY_ITSELF)):
        watch = Watch()
        watch.look(0, lifted_mv)
        assert watch.look(FLOWING_PA, mv, 100) == works  # 12550 is full


def test_a_battery_fresh_from_the_charger_does_not_hide_a_pump() -> None:
    """The campaign's 102/relay_bridged/idle: two hours unasked, for at 14.4 V a sound rest is not
    known, and a pump that leaves the battery above a full one's was not felt."""
    for rest_mv, works in ((12950, BY_ITSELF), (12945, STANDS)):
        for taken_over in (False, True):
            watch = resting()
            watch.look(0, rest_mv)
            if taken_over:
                before = watch.it
                watch = Watch()
                watch.it.go_on(before)
            for _ in range(602):
                watch.look(FLOWING_PA, 12900, 100)
            assert watch.it.works == works


def test_after_a_stop_the_rest_is_learned_anew() -> None:
    """A full battery has given up some of its voltage for good."""
    watch = resting()
    watch.stop()
    for off_ms in (5000, 15000, 75000):
        watch.look(0, 12300, MINUTE, off_ms)
    assert watch.look(FLOWING_PA, 12300) == STANDS
    assert watch.look(FLOWING_PA, 12199, 100) == BY_ITSELF


def test_a_battery_that_cannot_be_read_is_not_learned_from() -> None:
    watch = resting()
    watch.look(0, 9000, battery=1)
    assert watch.look(FLOWING_PA, 12400) == BY_ITSELF


# Pressure alone.


def held_s(watch: Watch, pa: int, mv: int = REST_MV, **bad: int) -> float:
    """How long this pressure must stand until the pump is said to work, from a look on."""
    watch.look(pa, mv, **bad)
    ticks = 0
    while not watch.it.works:
        assert watch.it.doubt, "not a matter of time"
        watch.look(pa, mv, 100, **bad)
        ticks += 1
    assert not watch.it.doubt
    return ticks / 10


@pytest.mark.parametrize(
    ("settings", "now"), [(NO_BATTERY, {}), ({}, {"mv": 12950}), ({}, {"battery": 1})]
)
def test_pressure_alone_must_stay_up_for_a_minute(
    settings: dict[str, int], now: dict[str, int]
) -> None:
    watch = resting(**settings)
    assert held_s(watch, 100001, **now) == pytest.approx(60, abs=0.1)
    assert watch.it.works == BY_ITSELF


def test_holds_to_the_millisecond() -> None:
    """The first look after a nap only begins them."""
    watch = resting(**NO_BATTERY)
    watch.look(FLOWING_PA)
    assert watch.look(FLOWING_PA, dt_ms=59998) == STANDS
    assert watch.look(FLOWING_PA, dt_ms=1) == BY_ITSELF
    watch = resting()
    watch.look(FLOWING_PA)
    watch.look(FLOWING_PA, dt_ms=9998)
    assert watch.it.doubt
    watch.look(FLOWING_PA, dt_ms=1)
    assert not watch.it.doubt


@pytest.mark.parametrize(
    ("first_ms", "pa", "doubt"),
    [
        (MINUTE, 150000, False),
        (MINUTE, 150001, True),
        (MINUTE - 1, 100001, True),
    ],
)
def test_a_quarter_of_the_work_is_followed_in_a_minute(
    first_ms: int, pa: int, doubt: bool
) -> None:
    watch = resting(**NO_BATTERY)
    watch.look(100000, dt_ms=first_ms)
    watch.look(pa, dt_ms=0)
    assert watch.it.doubt == doubt


def test_a_foot_on_the_hose_is_no_pump() -> None:
    watch = resting(**NO_BATTERY)
    for pa in (300000, 0, 300000):
        watch.look(pa)
        for _ in range(590 if pa else 10):
            assert watch.look(pa, dt_ms=100) == STANDS


def test_pressure_alone_above_the_rating_is_a_wire() -> None:
    watch = resting(**NO_BATTERY)
    watch.look(410001)
    assert not watch.it.doubt
    watch.look(410000)
    assert watch.it.doubt


@pytest.mark.parametrize("bad", [{"pressure": 1}, {}])
def test_without_pressure_only_the_load_side_tells(bad: dict[str, int]) -> None:
    watch = resting(**({} if bad else {"pressure_fitted": 0}))
    assert watch.look(FLOWING_PA, 12000, **bad) == STANDS
    assert not watch.it.doubt


# Since power came.


def test_pressure_that_stands_since_power_came() -> None:
    watch = Watch()
    assert held_s(watch, FLOWING_PA, 12300) == pytest.approx(60, abs=0.1)
    assert watch.it.works == SINCE_POWER
    watch.it.looked(FLOWING_PA)
    assert watch.look(FLOWING_PA, 12300) == STANDS, "a person has looked: a shut line"


RAISED = {"static_pa": 90000, "dry_pa": 94000, "primed_pa": 98000}


def test_the_head_of_a_raised_line_is_known() -> None:
    watch = Watch(**RAISED)
    assert watch.look(90000) == STANDS
    assert not watch.it.doubt
    watch = Watch(**RAISED)
    watch.look(145001)
    assert watch.it.doubt


@pytest.mark.parametrize(
    ("looks", "works"), [(0, SINCE_POWER), (59, SINCE_POWER), (60, BY_ITSELF)]
)
def test_by_itself_is_said_after_a_minute_at_rest(looks: int, works: int) -> None:
    for settings, now in (
        ({}, {"pa": FLOWING_PA, "mv": 12400}),
        ({"load_sense_fitted": 1}, {"load_on": 1}),
    ):
        watch = Watch(**settings)
        watch.look(dt_ms=0)
        for _ in range(looks):
            watch.look(dt_ms=1000)
        assert watch.look(dt_ms=0, **now) == works


# The load side, and the pump's current.


def test_the_load_side_is_the_contact() -> None:
    watch = Watch(load_sense_fitted=1)
    assert watch.look(load_on=1) == SINCE_POWER
    watch.it.pump_on(5000, 600, LIFT_MV)
    assert watch.it.works == STANDS
    watch.stop()
    assert watch.look(load_on=1, dt_ms=100, off_ms=100) == STAYED
    assert watch.look(load_on=0, dt_ms=100, off_ms=200) == STANDS
    assert watch.look(load_on=1, dt_ms=100, off_ms=300) == BY_ITSELF


def test_a_contact_that_was_open_and_then_carries_works_backwards() -> None:
    """The campaign's relay_inverted in mid-run: it cannot have stayed closed."""
    watch = Watch(load_sense_fitted=1)
    watch.stop(is_open=1)
    assert watch.look(load_on=1, dt_ms=100, off_ms=100) == INVERTED
    assert watch.look(load_on=0, dt_ms=100, off_ms=200) == STANDS
    assert watch.look(load_on=1, dt_ms=100, off_ms=300) == BY_ITSELF


def test_a_contact_that_was_open_leaves_a_rested_battery() -> None:
    """Its volts have come up before the stop: they do not again, and then go down with a load."""
    watch = Watch()
    watch.stop(0, REST_MV, is_open=1)
    for off_ms in range(100, 20000, 100):
        assert watch.look(dt_ms=100, off_ms=off_ms) == STANDS
    assert watch.look(FLOWING_PA, 12499, dt_ms=100) == BY_ITSELF
    watch.stop(0, REST_MV, is_open=1)
    assert watch.look(FLOWING_PA, 12499, dt_ms=100, off_ms=100) == INVERTED


def test_a_load_side_that_is_dead_leaves_pressure_and_sag() -> None:
    """Its wire is off, or the pump hangs on another one; pressure alone is then no evidence."""
    watch = resting(load_sense_fitted=1)
    assert watch.look(FLOWING_PA, 12400) == BY_ITSELF
    watch = resting(load_sense_fitted=1, battery_fitted=0)
    for _ in range(700):
        assert watch.look(FLOWING_PA, dt_ms=100) == STANDS


@pytest.mark.parametrize(
    ("now", "works"),
    [({"ma": 4001}, BY_ITSELF), ({"ma": 4000}, STANDS), ({"ma": 9000, "current": 2}, STANDS)],
)
def test_half_the_current_at_no_pressure(now: dict[str, int], works: int) -> None:
    assert resting(current_fitted=1).look(**now) == works
    assert resting(current_fitted=0).look(**now) == STANDS


def test_a_transducer_that_is_stuck_is_no_pump_at_work() -> None:
    """Found by the campaign: a lockout on the morning after, with words of a pump at work."""
    for stuck, works in ((True, STANDS), (False, SINCE_POWER)):
        watch = Watch(**NO_BATTERY)
        for _ in range(130):
            watch.look(FLOWING_PA, 0, 1000, stuck=stuck)
        assert watch.it.works == works
        watch = Watch(**NO_BATTERY)
        watch.stop(FLOWING_PA)
        for off_ms in (14900, 15000, 75000):
            watch.look(FLOWING_PA, 0, 100, off_ms, stuck=stuck)
        assert (watch.it.works == STANDS) == stuck
