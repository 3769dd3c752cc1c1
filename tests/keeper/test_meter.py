"""A flow meter: what its silence means, beside a transducer and without one."""

import pytest

from keeper.records import GIVEN, MINUTE
from keeper.rules import NO_FLOW

from .bench import PASCALS, PULSES, WORKING_PA, ZERO_COUNT, Bench

NO_FLOW_MS = 5000
DRY_MV = 12400
"""12 A of a pump with water sag by 600 mV; one that draws air takes a third."""
ML_S = PULSES * 10 * 5
"""Five pulses of 5 mL in each tick."""
LEAST_N = 81
"""Pulses of 5 mL in five seconds: a good third of the 14 L/min that are expected."""


def metered(**settings: int) -> Bench:
    return Bench(flow_fitted=1, **settings)


def alone(**settings: int) -> Bench:
    """A meter, and no transducer."""
    return metered(pressure_fitted=0, prime_ms=60000, **settings)


def drawing_air(bench: Bench) -> Bench:
    """A pump that has just started, and has no water yet."""
    bench.pulses = 0
    bench.loaded_mv = DRY_MV
    bench.go("prime")
    return bench


def running(bench: Bench) -> Bench:
    bench.go("run")
    bench.ticks(8000)
    return bench


def tonight(bench: Bench) -> Bench:
    """In the first run of the set that is planned."""
    bench.sleep_until("22:00:00")
    bench.until("run")
    bench.ticks(2000)
    return bench


def clog(bench: Bench) -> None:
    """Silt closes the transducer's port: the pressure of before, with the noise of its own."""
    bench.pressure_pa = WORKING_PA


def test_a_shut_line_behind_a_clogged_transducer_stops_in_its_time() -> None:
    bench = running(metered())
    clog(bench)
    bench.pulses = 0
    begun_ms = bench.at_ms
    bench.until(lambda: not bench.level)
    # Its time began when enough water had last come together: up to a third of it before.
    assert NO_FLOW_MS * 2 // 3 - 200 <= bench.at_ms - begun_ms <= NO_FLOW_MS + 100
    assert bench.said("no flow")
    assert bench.state == "rest"


def test_it_is_tried_once_more_and_then_locked() -> None:
    """The transducer has not fallen in the rest: it proves nothing, and a person must look."""
    bench = running(metered())
    clog(bench)
    bench.pulses = 0
    bench.until("lockout", 900)
    assert [trip["tries"] for trip in bench.said("no flow")] == [1, 1]
    assert not bench.said("bad meter")


def test_a_wheel_that_stands_still_costs_a_rest_and_no_water() -> None:
    bench = tonight(metered())
    bench.pulses = 0
    bench.until(lambda: bool(bench.said("bad meter")), 900)
    assert len(bench.said("no flow")) == 1
    bench.until("idle", 3000)
    assert bench.records(GIVEN)[-1]["run_s"] >= 30 * 60
    assert len(bench.said("bad meter")) == 1


def test_the_next_night_asks_again() -> None:
    bench = tonight(metered())
    bench.pulses = 0
    bench.until("idle", 3000)
    bench.sleep_until("22:00:10")
    bench.until(lambda: len(bench.said("bad meter")) == 2, 900)
    assert len(bench.said("no flow")) == 2


def test_a_wheel_that_turns_again_is_believed_again() -> None:
    bench = running(metered())
    bench.pulses = 0
    bench.until(lambda: bool(bench.said("bad meter")), 900)
    bench.pulses = LEAST_N - 1
    bench.tick()
    assert bench.q("meter_bad")
    bench.pulses = 1
    bench.tick()
    assert not bench.q("meter_bad")
    clog(bench)
    bench.pulses = 0
    bench.ticks(NO_FLOW_MS)
    assert bench.q("still_ms") == NO_FLOW_MS


@pytest.mark.parametrize(("over_pa", "bad"), [(4000, 0), (4000 + PASCALS, 1)])
def test_only_a_pressure_well_above_rest_speaks_against_the_meter(over_pa: int, bad: int) -> None:
    bench = metered()
    bench.keeper.facts.tries[NO_FLOW] = 1
    bench.water_pa = WORKING_PA
    bench.pressure_pa = WORKING_PA - over_pa
    bench.go("check")
    bench.until("prime")
    bench.pressure_pa = WORKING_PA
    bench.until("run")
    bench.ticks(2000)
    bench.pulses = 0
    bench.ticks(NO_FLOW_MS + 200)
    assert bool(bench.said("bad meter")) == bool(bad)
    assert bool(bench.said("no flow")) != bool(bad)


@pytest.mark.parametrize(("pressure_pa", "bad"), [(240000, True), (240400, False)])
def test_a_pressure_above_that_of_moving_water_speaks_for_the_meter(
    pressure_pa: int, bad: bool
) -> None:
    """A line that is nearly shut, below the limit on a shut one."""
    bench = metered()
    bench.keeper.facts.tries[NO_FLOW] = 1
    bench.go("run")
    bench.ticks(2000)
    bench.pressure_pa = pressure_pa
    bench.pulses = 0
    bench.ticks(NO_FLOW_MS + 200)
    assert bool(bench.said("bad meter")) == bad
    assert bool(bench.said("no flow")) != bad


@pytest.mark.parametrize(("pulses", "enough"), [(LEAST_N, True), (LEAST_N - 1, False)])
def test_a_third_of_the_water_must_pass_in_the_time(pulses: int, enough: bool) -> None:
    bench = running(metered())
    bench.pulses = LEAST_N
    bench.tick()
    bench.pulses = 0
    bench.ticks(NO_FLOW_MS - 100)
    bench.pulses = pulses
    bench.tick()
    bench.pulses = 0
    bench.ticks(200)
    assert bool(bench.level) == enough
    assert bool(bench.said("no flow")) != enough


@pytest.mark.parametrize(("pulses", "goes_on"), [(2, True), (1, False)])
def test_a_line_that_is_nearly_shut_is_shut(pulses: int, goes_on: bool) -> None:
    """In each tick: 6 or 3 L/min of the 14."""
    bench = running(metered())
    bench.pulses = pulses
    bench.ticks(30000)
    assert bool(bench.level) == goes_on


def test_a_pressure_that_is_dry_keeps_its_own_name() -> None:
    bench = running(metered())
    bench.pressure_pa = 0
    bench.pulses = 0
    bench.until(lambda: not bench.level)
    assert bench.said("dry run")
    assert not bench.said("no flow")


def test_a_shut_line_that_the_pressure_shows_keeps_its_own_name() -> None:
    """Its hold is the shorter."""
    bench = running(metered())
    bench.pulses = 0
    bench.ticks(1000)
    bench.pressure_pa = 300000
    bench.until(lambda: not bench.level)
    assert bench.said("dead head")
    assert not bench.said("no flow")


def test_a_pump_that_draws_air_may_do_so_for_as_long_as_without_a_meter() -> None:
    """Air turns no wheel: only a pump that the battery feels is held against it."""
    bench = metered()
    bench.loaded_mv = DRY_MV
    bench.pressure_pa = 0
    bench.pulses = 0
    bench.go("prime")
    bench.ticks(60000)
    assert bench.state == "prime"
    bench.calm()
    bench.until("run")
    assert not bench.said("no flow")


def test_a_shut_line_at_a_start_is_felt_by_the_battery() -> None:
    """A transducer that shows nothing, a pump that works as with water, and no pulse."""
    bench = metered()
    bench.keeper.facts.resistance_mohm = 50
    bench.go("prime")
    bench.raw["pressure"] = ZERO_COUNT
    bench.pulses = 0
    begun_ms = bench.at_ms
    bench.until(lambda: not bench.level)
    assert bench.said("no flow")
    assert bench.at_ms - begun_ms <= NO_FLOW_MS + 3000


@pytest.mark.parametrize(
    ("known", "stopped"),
    [({}, False), ({"resistance_mohm": 50}, True), ({"current_fitted": 1}, True)],
)
def test_a_load_is_believed_that_is_measured(known: dict[str, int], stopped: bool) -> None:
    """A supply worse than the file says makes a pump that draws air sag like one with water."""
    fitted = {key: value for key, value in known.items() if key == "current_fitted"}
    bench = metered(**fitted)
    bench.keeper.facts.resistance_mohm = known.get("resistance_mohm", 0)
    bench.go("prime")
    bench.pulses = 0
    bench.ticks(NO_FLOW_MS + 3000)
    assert bool(bench.said("no flow")) == stopped


# Without a transducer.


def test_pulses_alone_end_the_prime() -> None:
    """81 of them, five in a tick."""
    bench = drawing_air(alone())
    bench.ticks(20000)
    assert bench.state == "prime"
    bench.pulses = PULSES
    bench.loaded_mv = 12000
    bench.ticks(1600)
    assert bench.state == "prime"
    bench.ticks(100)
    assert bench.state == "run"


def test_many_pulses_end_it_no_sooner_than_pressure_would() -> None:
    bench = drawing_air(alone())
    bench.pulses = 100
    bench.ticks(900)
    assert bench.state == "prime"
    bench.ticks(100)
    assert bench.state == "run"


@pytest.mark.parametrize(("each_ms", "state"), [(4800, "run"), (4900, "prime")])
def test_a_pulse_now_and_then_is_no_water(each_ms: int, state: str) -> None:
    """Half of what is wanted, and the other half after so long."""
    bench = drawing_air(alone())
    for _ in range(2):
        bench.pulses = (LEAST_N + 1) // 2
        bench.tick()
        bench.pulses = 0
        bench.ticks(each_ms)
    assert bench.state == state


def test_a_pump_that_draws_no_water_is_stopped_and_locked() -> None:
    bench = drawing_air(alone(dry_tries=1, dry_night_s=600))
    bench.until("lockout", 900)
    assert [trip["tries"] for trip in bench.said("no prime")] == [1, 1]
    assert bench.q("dry_s") == 120


def test_dry_seconds_end_a_night() -> None:
    bench = drawing_air(alone(dry_night_s=70))
    bench.until("lockout", 900)
    assert bench.said("dry too long")


def test_air_that_was_drawn_before_water_is_given_back() -> None:
    bench = drawing_air(alone())
    bench.ticks(20000)
    bench.calm()
    bench.until("run")
    assert bench.keeper.facts.dry_run_ms == 0


def test_in_a_run_its_silence_stops_the_pump_and_counts_as_dry() -> None:
    bench = tonight(alone())
    bench.pulses = 0
    bench.until(lambda: not bench.level)
    assert bench.said("no flow")
    assert bench.keeper.facts.dry_run_ms == NO_FLOW_MS + 100


def test_a_coarse_meter_lets_no_run_count_as_dry() -> None:
    """One pulse in two seconds: between them nothing is known."""
    bench = running(alone(pulse_ul=500000, no_flow_ms=20000, dry_night_s=30))
    for _ in range(100):
        bench.pulses = 1
        bench.tick()
        bench.pulses = 0
        bench.ticks(1900)
    assert bench.level
    assert bench.q("dry_s") <= 8


# Litres.


def test_a_set_in_litres_is_given_by_the_meter() -> None:
    """15 L/min pass, where the pressure speaks of 14."""
    bench = tonight(metered(set1_unit=3, set1_amount=150))
    bench.until("idle", 3000)
    (given,) = bench.records(GIVEN)
    assert given["given_ml"] == pytest.approx(150000, abs=ML_S)
    assert given["run_s"] == pytest.approx(600, abs=2)
    assert all(14900 < minute["flow_ml_min"] <= 15000 for minute in bench.records(MINUTE))


def test_before_water_has_come_nothing_is_given() -> None:
    bench = metered()
    bench.go("prime")
    bench.ticks(20000)
    bench.pressure_pa = None
    bench.until("run")
    bench.ticks(1000)
    assert bench.keeper.facts.night_ml == 9 * PULSES * 5, "the nine ticks after it came"


def test_while_the_wheel_stands_still_the_pressure_tells_the_litres() -> None:
    bench = running(metered())
    bench.pulses = 0
    bench.until(lambda: bool(bench.said("bad meter")), 900)
    before_ml = bench.keeper.facts.night_ml
    bench.ticks(60000)
    assert bench.keeper.facts.night_ml - before_ml == pytest.approx(14000, rel=0.01)


def test_more_pulses_than_any_pump_sends_stay_in_bounds() -> None:
    bench = metered(pulse_ul=50)
    bench.pulses = 20000
    running(bench).ticks(60000)
    assert max(minute["flow_ml_min"] for minute in bench.records(MINUTE)) <= 480000


def test_without_a_meter_pulses_are_nothing() -> None:
    bench = tonight(Bench(set1_unit=3, set1_amount=140))
    bench.pulses = 0
    bench.until("idle", 3000)
    (given,) = bench.records(GIVEN)
    assert given["run_s"] == pytest.approx(600, abs=8)
