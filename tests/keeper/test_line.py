"""Open, weak or dry: what a little pressure at a start and in a run is taken for.

The bench's transducer has a span of 1 MPa: 4000 Pa above rest is water on the move. Of the 90 s
that priming may take, water may come weakly for 45 s before it is judged.
"""

import pytest

from keeper.sense import OFF_ZERO

from .bench import Bench

ROOM_PA = 4000
HALF_MS = 45000
WEAK = {"primed_pa": 150000}


def priming(pressure_pa: int, rest_pa: int = 0, **settings: int) -> Bench:
    bench = Bench(**settings)
    bench.loaded_mv = 12400
    bench.pressure_pa = rest_pa
    bench.go("check")
    bench.until("prime")
    bench.pressure_pa = pressure_pa
    return bench


def ended_by(bench: Bench) -> tuple[list[str], int]:
    """The rules that stop this start, and how long the relay was closed [ms]."""
    begun_ms = bench.at_ms
    bench.until(lambda: not bench.level)
    names = ("no prime", "dry run", "line open", "dry too long")
    return [name for name in names if bench.said(name)], bench.at_ms - begun_ms


@pytest.mark.parametrize("rest_pa", [-800, 0, 12000])
def test_a_little_more_than_at_rest_is_an_open_line(rest_pa: int) -> None:
    names, ms = ended_by(priming(rest_pa + ROOM_PA + 800, rest_pa))
    assert names == ["line open"]
    # Half the allowance, the hold, and a second or two until the mean is past the room.
    assert HALF_MS + 10000 <= ms <= HALF_MS + 13000


@pytest.mark.parametrize("rest_pa", [-800, 0, 12000])
def test_no_more_than_at_rest_is_no_water(rest_pa: int) -> None:
    names, ms = ended_by(priming(rest_pa + ROOM_PA, rest_pa))
    assert names == ["no prime"]
    assert ms <= 90200


def emptying() -> Bench:
    """In a run: four seconds of little pressure, and then none."""
    bench = priming(200000, 0)
    bench.until("run")
    bench.ticks(6000)
    bench.pressure_pa = 60000
    bench.ticks(4000)
    bench.pressure_pa = 0
    return bench


def test_a_line_that_empties_slowly_is_dry_not_open() -> None:
    """A soft hose holds its pressure for seconds after the source is gone: the campaign's 97000002
    called it open, since that hold ran out before the one of dry running."""
    names, _ = ended_by(emptying())
    assert names == ["dry run"]


def test_one_that_gives_water_again_within_the_hold_of_dry_running_is_open() -> None:
    bench = emptying()
    bench.ticks(7000)
    assert bench.level
    bench.pressure_pa = 60000
    names, _ = ended_by(bench)
    assert names == ["line open"]


def test_a_line_that_fills_for_half_the_allowance_is_not_open() -> None:
    bench = priming(20000)
    bench.ticks(HALF_MS)
    bench.pressure_pa = None
    bench.until("run")
    bench.ticks(20000)
    assert bench.level
    assert not bench.said("line open")


def test_weak_water_in_a_whole_line_is_water() -> None:
    """Above the share that an open line has, and short of "primed": it has come."""
    bench = priming(111000, **WEAK)
    bench.ticks(1000)
    assert bench.state == "prime"
    bench.until("run", 6)
    bench.ticks(30000)
    assert bench.level


def test_pressure_that_only_passes_by_is_no_water() -> None:
    bench = priming(111000, **WEAK)
    bench.ticks(4000)
    bench.pressure_pa = 100000
    bench.ticks(20000)
    assert bench.state == "prime"


def test_a_pump_at_an_open_line_is_not_dry() -> None:
    """20 kPa are below the dry limit, and more than stands in the line: there is water."""
    bench = Bench()
    bench.go("run")
    bench.pressure_pa = 20000
    names, ms = ended_by(bench)
    assert names == ["line open"]
    assert ms <= 15400
    assert bench.state == "done"


@pytest.mark.parametrize(
    ("rest_pa", "static_pa", "pressure_pa", "rule"),
    [
        (12000, 0, 15600, "dry run"),
        (12000, 0, 16400, "line open"),
        (0, 12000, 15600, "dry run"),
        (0, 12000, 16400, "line open"),
    ],
)
def test_dry_is_what_stands_in_the_line(
    rest_pa: int, static_pa: int, pressure_pa: int, rule: str
) -> None:
    """By what it read at rest, and by the height of the nozzle where the line had run empty."""
    bench = Bench(static_pa=static_pa)
    bench.pressure_pa = rest_pa
    bench.go("check")
    bench.until("prime")
    bench.pressure_pa = None
    bench.until("run")
    bench.pressure_pa = pressure_pa
    names, _ms = ended_by(bench)
    assert names == [rule]


# A transducer whose zero has drifted: 50 kPa at the most on this one.


def unmoved(rest_pa: int, pumping_pa: int, rested_ms: int = 61000) -> Bench:
    """A reading that is one at rest, and another or the same while the pump runs."""
    bench = Bench()
    bench.go("done")
    bench.pressure_pa = rest_pa
    bench.sleep(rested_ms // 1000)
    bench.go("check")
    bench.until("prime")
    bench.pressure_pa = pumping_pa
    bench.until("run")
    return bench


@pytest.mark.parametrize("moved_pa", [0, 3600, -3600])
def test_pressure_that_the_start_does_not_move_is_no_line_s(moved_pa: int) -> None:
    """Silt has closed the port: it shows the pressure of the run before, at rest and at work."""
    bench = unmoved(190000, 190000 + moved_pa)
    bench.ticks(8000)
    assert not bench.level
    assert [row["value"] for row in bench.said("bad pressure")] == [OFF_ZERO]
    assert not bench.said("dead head")


def test_a_port_that_is_clean_again_is_believed_at_the_next_start() -> None:
    bench = unmoved(190000, 190000)
    bench.until("done")
    bench.sleep(61)
    bench.pressure_pa = None
    bench.go("run")
    bench.ticks(20000)
    assert bench.level
    assert len(bench.said("bad pressure")) == 1
    bench.pressure_pa = 320000
    bench.until(lambda: not bench.level)
    assert bench.said("dead head")


def test_a_pump_that_stops_at_once_leaves_what_stood_there_and_that_is_no_bad_reading() -> None:
    """The campaign's 101000003: a motor that cut out at the beginning of its run."""
    bench = Bench(static_pa=12000)
    bench.pressure_pa = 12000
    bench.sleep(61)
    bench.go("check")
    bench.until("prime")
    bench.pressure_pa = None
    bench.until("run")
    bench.ticks(1000)
    bench.pressure_pa = 12000
    bench.until(lambda: not bench.level, 30)
    assert bench.said("dry run")
    assert not bench.said("bad pressure")


@pytest.mark.parametrize(
    ("pumping_pa", "rested_ms"), [(194800, 61000), (185200, 61000), (190000, 40000)]
)
def test_one_that_it_moves_or_that_had_no_rest_is(pumping_pa: int, rested_ms: int) -> None:
    """A tank at the pump gives its pressure back slowly."""
    bench = unmoved(190000, pumping_pa, rested_ms)
    bench.ticks(20000)
    assert bench.level
    assert not bench.said("bad pressure")


@pytest.mark.parametrize(
    ("rest_pa", "pressure_pa", "rule"),
    [
        (40000, 280400, "bad pressure"),
        (40000, 320000, "bad pressure"),
        (40000, 320400, "dead head"),  # more than it was off by: shut
        (50000, 300000, "bad pressure"),
        (50400, 300000, "dead head"),  # so much is held by a shut line
        (0, 280400, "dead head"),
        (-4000, 280400, "dead head"),
    ],
)
@pytest.mark.parametrize("state", ["prime", "run"])
def test_pressure_that_stood_there_before_the_start_shuts_no_line(
    rest_pa: int, pressure_pa: int, rule: str, state: str
) -> None:
    """The campaign's pressure_offset: called a shut line, the tap being open."""
    bench = priming(rest_pa, rest_pa)
    if state == "run":
        bench.pressure_pa = 200000
        bench.until("run")
    bench.pressure_pa = pressure_pa
    bench.until(lambda: not bench.level)
    names = ("bad pressure", "dead head")
    assert [name for name in names if bench.said(name)] == [rule]
    assert bench.said(rule)[0]["value"] == (OFF_ZERO if rule == "bad pressure" else pressure_pa)


@pytest.mark.parametrize(
    ("settings", "rest_pa", "rule"),
    [
        ({"static_pa": 20000}, 70000, "bad pressure"),
        ({"static_pa": 20000}, 70400, "dead head"),
        ({"static_pa": -20000}, 50000, "bad pressure"),
        ({"rating_pa": 360000}, 40000, "bad pressure"),
        ({"rating_pa": 360000}, 40400, "dead head"),
        ({"pressure_span_kpa": 500, "pressure_span_count": 1250}, 25200, "dead head"),
    ],
)
def test_a_drift_counts_from_the_standing_water_and_leaves_half_the_room_to_the_rating(
    settings: dict[str, int], rest_pa: int, rule: str
) -> None:
    bench = priming(200000, rest_pa, **settings)
    bench.until("run")
    bench.pressure_pa = 280400
    bench.until(lambda: not bench.level)
    assert bench.said(rule)


# Seconds without water, all tries together.


def dry_on_s(bench: Bench) -> float:
    """Seconds with the relay closed and no pressure, until the board locks out."""
    ticks = 0

    def locked() -> bool:
        nonlocal ticks
        ticks += bench.level
        return bench.state == "lockout"

    bench.until(locked, 2000)
    return ticks / 10


def test_all_tries_share_two_minutes_the_first_filling_too() -> None:
    """Whether a line fills or its source is gone nobody can tell before water comes: with a first
    try for nothing the pump turned for 179 and 195 s on air where a foot valve had leaked and the
    well was empty (the campaign's 17494716 and 17494717)."""
    bench = priming(0)
    assert 110 <= dry_on_s(bench) <= 112
    assert [trip["tries"] for trip in bench.said("no prime")] == [1]
    assert len(bench.said("dry too long")) == 1


def test_a_first_filling_that_brings_water_was_not_dry() -> None:
    bench = priming(0)
    bench.ticks(60000)
    assert bench.keeper.facts.dry_run_ms > 58000
    bench.pressure_pa = None
    bench.until("run")
    assert bench.keeper.facts.dry_run_ms == 0


def test_a_line_that_has_drained_meanwhile_fills_again() -> None:
    """The campaign's 103/source_empty/last seconds: 178 s dry in the second set."""
    bench = Bench(hand_minutes=1)
    bench.go("run")
    bench.until("idle")
    bench.pressure_pa = 0
    bench.go("prime")
    bench.ticks(60000)
    bench.pressure_pa = None
    bench.until("run")
    assert bench.keeper.facts.dry_run_ms == 0
    bench.until("idle")
    bench.pressure_pa = 0
    bench.go("prime")
    assert 110 <= dry_on_s(bench) <= 112


def test_a_long_suction_line_may_draw_for_as_long_as_its_limits_say() -> None:
    bench = priming(0, prime_ms=400000, dry_night_s=300)
    bench.ticks(200000)
    bench.pressure_pa = None
    bench.until("run")
    assert bench.keeper.facts.dry_run_ms == 0


def test_another_night_has_two_minutes_of_its_own() -> None:
    bench = Bench(clock="11:30:00")
    bench.pressure_pa = 0
    bench.go("prime")
    bench.until("rest")
    assert bench.keeper.facts.dry_run_ms > 85000
    bench.sleep_until("12:30:00")
    assert bench.keeper.facts.dry_run_ms == 0


def test_a_pump_that_lost_its_water_has_two_minutes_in_all() -> None:
    bench = Bench()
    bench.go("run")
    bench.pressure_pa = 0
    assert 110 <= dry_on_s(bench) <= 112


def test_a_start_that_brings_water_was_not_dry() -> None:
    bench = Bench()
    bench.go("run")
    bench.pressure_pa = 0
    bench.until("rest")
    before_ms = bench.keeper.facts.dry_run_ms
    assert 8000 <= before_ms <= 8500
    bench.until("prime")
    bench.ticks(60000)
    assert bench.keeper.facts.dry_run_ms > 60000
    bench.pressure_pa = None
    bench.until("run")
    assert bench.keeper.facts.dry_run_ms == before_ms


def test_a_person_who_has_looked_may_fill_the_line_anew() -> None:
    bench = priming(0)
    bench.until("lockout", 2000)
    bench.clear()
    assert bench.keeper.facts.dry_run_ms == 0
    bench.go("prime")
    bench.ticks(60000)
    bench.pressure_pa = None
    bench.until("run")
    assert bench.keeper.facts.dry_run_ms == 0


def test_a_loss_of_power_gives_no_second_two_minutes() -> None:
    bench = priming(0)
    bench.until("rest")
    before_ms = bench.keeper.facts.dry_run_ms
    assert before_ms > 85000
    bench.reboot()
    assert bench.keeper.facts.dry_run_ms == before_ms
