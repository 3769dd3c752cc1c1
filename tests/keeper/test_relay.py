"""The relay and who watches it; rain, the button, the minute's means."""

import pytest

from keeper import Settings
from keeper.facts import Facts
from keeper.rain import Rain
from keeper.records import FIRST, HAND, SKIP, Journal
from keeper.relay import Relay
from keeper.relaywatch import RelayWatch
from keeper.tally import Tally

from .bench import SITE, Bench, part

SETTINGS = Settings({**SITE, "current_fitted": 1})


def test_rain_is_counted_and_remembered() -> None:
    rain, journal = Rain(SETTINGS, Facts(SETTINGS)), Journal(4)
    rain.feel(100, 0, journal)
    assert not rain.skips_set()
    rain.feel(100, 1, journal)
    rain.feel(59999, 1, journal)
    assert not rain.ends_set()
    rain.feel(1, 1, journal)
    assert rain.ends_set()
    assert rain.skips_for_s() == 21600
    # A change of the contact ends a nap: up to this look it was closed.
    rain.feel(600000, 0, journal)
    assert not rain.ends_set()
    rain.feel(21599999, 0, journal)
    assert rain.skips_set()
    assert rain.skips_for_s() == 0
    rain.feel(1, 0, journal)
    assert not rain.skips_set()
    assert rain.skips_for_s() == 0
    assert [journal.take()[FIRST] for _ in range(journal.waiting)] == [1, 0]


def press(bench: Bench, ms: int) -> None:
    bench.button = 1
    bench.tick()
    bench.tick(ms)
    bench.button = 0
    bench.ticks(1200)


@pytest.mark.parametrize(("ms", "state"), [(49, "idle"), (50, "check"), (2999, "check")])
def test_a_short_press_starts(ms: int, state: str) -> None:
    bench = Bench()
    press(bench, ms)
    assert bench.state == state


def test_a_press_stops_what_it_could_have_started() -> None:
    bench = Bench()
    bench.go("run")
    press(bench, 200)
    assert bench.state == "done"
    press(bench, 3000)
    assert bench.state == "idle"


@pytest.mark.no_cover
def test_a_jammed_button_does_nothing_until_it_is_let_go() -> None:
    bench = Bench()
    bench.button = 1
    bench.sleep(3600)
    assert not bench.records(HAND)
    assert bench.keeper.hand.press_ms == 3000


def test_wishes_without_effect_are_harmless() -> None:
    bench = Bench()
    for code in (0, 7, 99, -3):
        bench.keeper.command(code, 5)
        bench.ticks(200)
    assert bench.state == "idle"
    assert not bench.records(SKIP)


@pytest.mark.parametrize(("dt_ms", "level"), [(500, 1), (501, 0)])
def test_relay_drops_when_it_is_not_renewed(dt_ms: int, level: int) -> None:
    relay = Relay(10000)
    relay.renew()
    relay.pass_time(dt_ms)
    relay.renew()
    assert relay.level == level


def test_relay_has_a_counter_of_its_own() -> None:
    relay = Relay(1000)
    for _ in range(10):
        relay.renew()
        relay.pass_time(100)
        assert relay.level == 1
    relay.renew()
    relay.pass_time(1)
    relay.renew()
    assert relay.level == 0, "and once dropped it must be released first"
    relay.release()
    relay.renew()
    assert (relay.level, relay.on_ms) == (1, 0)


@pytest.mark.parametrize("tick_ms", [100, 70, 300, 333])
def test_over_run_is_named_whatever_the_tick(tick_ms: int) -> None:
    """The relay's own counter must not open it behind the rules' back."""
    bench = Bench(run_max_s=60, stuck_ms=600000, load_sense_fitted=0, battery_fitted=0)
    bench.go("run")
    while bench.level:
        bench.tick(tick_ms)
    assert bench.state == "done"
    assert len(bench.said("over-run")) == 1


@pytest.mark.parametrize(("sag_mv", "open_on"), [(149, 1), (150, 0)])
def test_an_open_relay_is_inferred_from_a_sag_that_is_missing(sag_mv: int, open_on: int) -> None:
    """A quarter of what 12 A over the expected 50 mohm take, two seconds after closing."""
    watch = part(RelayWatch, load_sense_fitted=0)
    watch.feel(100, 1900, sag_mv, 12000, False)
    assert watch.open_on == 0
    watch.feel(100, 2000, sag_mv, 12000, False)
    assert watch.open_on == open_on


def test_starts_are_forgotten_after_an_hour() -> None:
    watch = RelayWatch(SETTINGS, Facts(SETTINGS))
    watch.started()
    watch.age_starts(1800000)
    watch.started()
    assert watch.facts.starts == 2
    watch.age_starts(1800000)
    assert watch.facts.starts == 1
    watch.age_starts(1 << 28)
    assert watch.facts.starts == 0


@pytest.mark.parametrize(("duty", "rest_ms"), [(500, 60000), (750, 20000), (250, 180000)])
def test_motor_cools_at_the_rate_of_its_duty(duty: int, rest_ms: int) -> None:
    """At the duty it can run for ever, what a minute heats the rest cools."""
    watch = part(RelayWatch, duty_permille=duty)
    for _ in range(600):
        watch.pump_on(100, 1)
    watch.rest(rest_ms)
    assert watch.facts.heat_ms <= 60


def test_a_hot_motor_may_start_again_when_it_has_cooled() -> None:
    bench = Bench(duty_s=100)
    bench.go("run")
    bench.until("done")
    assert bench.said("duty")
    bench.sleep(3600)
    bench.clear()
    bench.go("run")
    bench.ticks(5000)
    assert bench.state == "run"


def test_unsure_readings_refuse_a_start_in_the_end() -> None:
    """Out of band now and then: never long enough to trip, never good enough to start."""
    bench = Bench(sensor_hold_ms=10000)
    bench.go("check")
    entered_ms = bench.at_ms
    bench.raw = {"battery": 100}
    bench.until("done", 20)
    assert bench.at_ms - entered_ms == 10000
    assert not bench.said("bad battery")


def test_tally_is_full_after_a_minute() -> None:
    tally = Tally()
    assert [tally.add(100, 200, 300, 400) for _ in range(60)] == [False] * 59 + [True]
    assert (tally.pressure_sum_pa, tally.flow_sum_ml_min) == (6000, 24000)
    tally.clear()
    assert tally.seconds == tally.battery_sum_mv == tally.current_sum_ma == 0


def test_a_button_that_is_not_fitted_is_not_felt() -> None:
    bench = Bench(button_fitted=0)
    press(bench, 200)
    assert bench.state == "idle"
