"""Small slips between the start of a run and its stop that no other test would notice.

Each was found by a changed line of ``watering.py`` that all tests let pass.
"""

import pytest

from keeper.facts import NEVER
from keeper.hand import STOP
from keeper.quantities import QUANTITIES
from keeper.records import LEARNED, NORMAL, TRIP
from keeper.records import STOP as STOPPED

from .bench import TICK_MS, WORKING_MA, WORKING_PA, Bench
from .test_small_slips import counted

DRIFT = QUANTITIES.index("drift_permille")
HEAT_S = QUANTITIES.index("heat_s")


def test_the_part_of_a_second_before_a_stop_is_counted() -> None:
    bench = Bench()
    bench.go("run")
    before = counted(bench)
    while counted(bench) == before:
        bench.tick()
    bench.ticks(300)
    before = counted(bench)
    bench.keeper.command(STOP, 0)
    bench.tick()
    assert bench.state != "run"
    board_ma = bench.settings.board_ua // 1000
    assert counted(bench) - before == (WORKING_MA + board_ma) * (300 + TICK_MS)


def test_a_run_begins_with_the_drift_of_its_own_night() -> None:
    """Else last night's warning would come again before tonight's pressure is known."""
    bench = Bench()
    bench.keeper.q[DRIFT] = 300
    bench.go("prime")
    assert bench.keeper.q[DRIFT] == 0


def test_a_run_begins_with_the_heat_that_is_left_to_the_second() -> None:
    bench = Bench()
    bench.keeper.facts.heat_ms = 1999999
    bench.keeper.watering.begin()
    assert bench.keeper.q[HEAT_S] == 1999


def test_a_run_that_is_open_is_marked_by_a_one() -> None:
    """As the table of facts says: an older firmware may read it."""
    bench = Bench()
    bench.go("run")
    assert bench.keeper.facts.run_open == 1


def test_water_is_counted_to_the_millilitre() -> None:
    """14 l/min are 700 ml in three seconds, not a thousandth less."""
    bench = Bench()
    bench.go("run")
    bench.ticks(3000)
    assert bench.keeper.facts.night_ml == 700


def test_seconds_are_given_whole_where_ticks_do_not_fit_a_second() -> None:
    """Ticks of 0.3 s: a second is looked at each 1.2 s, and none of the rest is lost."""
    bench = Bench()
    bench.go("run")
    before_s = bench.keeper.plan.given_s[bench.keeper.plan.current]
    for _ in range(200):
        bench.tick(300)
    given_s = bench.keeper.plan.given_s[bench.keeper.plan.current] - before_s
    assert given_s == pytest.approx(60, abs=1)


def test_a_pump_is_primed_by_a_whole_second_of_pressure() -> None:
    """By its ticks, the median's own not counted: a gulp before it does not count."""
    bench = Bench()
    bench.go("prime")
    bench.pressure_pa = None
    bench.ticks(800)
    bench.pressure_pa = 0
    bench.ticks(300)
    bench.pressure_pa = None
    bench.tick()
    bench.ticks(600)
    bench.tick(399)
    assert bench.state == "prime"
    bench.tick(1)
    assert bench.state == "run"


def test_after_a_gap_no_more_is_counted_than_the_relay_can_have_held() -> None:
    """Ticks that stay away drop the relay after half a second: a second and a half at the most."""
    bench = Bench()
    bench.go("run")
    bench.ticks(1000)
    before = counted(bench)
    bench.tick(1600)
    board_ma = bench.settings.board_ua // 1000
    assert counted(bench) - before == (WORKING_MA + board_ma) * 1500


def test_what_is_normal_tonight_is_learned_of_one_run() -> None:
    """The seconds of one that was stopped early are no part of it."""
    bench = Bench()
    bench.go("run")
    bench.ticks(40000)
    bench.keeper.command(STOP, 0)
    bench.until("done")
    bench.water_pa = WORKING_PA + 20000
    bench.go("run")
    bench.ticks(30000)
    assert not bench.records(NORMAL)
    bench.ticks(31000)
    assert [told["pressure_pa"] for told in bench.records(NORMAL)] == [WORKING_PA + 20000]


@pytest.mark.parametrize(("below_pa", "at_work"), [(0, False), (1, True)])
def test_a_pump_is_at_work_above_the_pressure_at_which_it_turns(
    below_pa: int, at_work: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench()
    bench.go("run")
    supply = bench.keeper.watering.supply
    monkeypatch.setattr(supply, "draws", lambda: False)
    supply.turns_pa = bench.q("pressure_pa") - below_pa
    told: list[bool] = []
    monkeypatch.setattr(supply, "tick", lambda _sag_mv, _ma, works: told.append(works))
    bench.pressure_pa = bench.q("pressure_pa")
    bench.tick()
    assert told == [at_work]


def test_a_start_reckons_with_the_current_of_an_empty_line() -> None:
    bench = Bench()
    bench.go("done")
    watering, charge = bench.keeper.watering, bench.keeper.charge
    assert watering.pump_ma > charge.pump_ma(0)
    watering.begin()
    assert watering.pump_ma == charge.pump_ma(0)
    assert watering._lift_mv == charge.lift_mv(charge.pump_ma(0))


def test_a_long_run_is_told_to_the_second_and_its_water_to_the_millilitre() -> None:
    bench = Bench(hand_minutes=10, board_ua=0)
    bench.go("run")
    bench.ticks(360000)
    assert bench.keeper.facts.night_ml == 360 * 14000 // 60
    on_ms = bench.keeper.relay.on_ms
    bench.ticks(2000 - on_ms % 1000)
    on_ms = bench.keeper.relay.on_ms
    assert on_ms % 1000 == 0
    bench.keeper.command(STOP, 0)
    bench.until("done")
    assert bench.records(STOPPED)[-1]["on_s"] == on_ms // 1000


def test_a_pump_that_the_battery_did_not_feel_is_not_missed_by_it() -> None:
    bench = Bench()
    bench.go("run")
    bench.loaded_mv = bench.rest_mv - 20
    bench.ticks(300)
    bench.keeper.command(STOP, 0)
    bench.until("done")
    assert bench.keeper.standstill._recovery_mv == 0


@pytest.mark.parametrize(("more_pa", "state"), [(0, "prime"), (400, "run")])
def test_a_pump_is_primed_above_the_limit(more_pa: int, state: str) -> None:
    bench = Bench()
    bench.go("prime")
    bench.pressure_pa = bench.settings.primed_pa + more_pa
    bench.ticks(3000)
    assert bench.state == state


def test_what_supply_and_relay_reckon_with_is_the_current_of_the_pressure() -> None:
    bench = Bench()
    bench.go("run")
    bench.ticks(1000)
    assert bench.keeper.watering.supply.pump_ma == WORKING_MA
    assert bench.keeper.charge.pump_ma(WORKING_PA) == WORKING_MA


def test_the_first_rule_s_stop_tells_no_room_above_the_cut_out() -> None:
    """A line that was shut drew another current than a run does."""
    bench = Bench()
    bench.go("run")
    bench.pressure_pa = bench.settings.rating_pa + 800
    bench.ticks(1000)
    assert [row["rule"] for row in bench.records(TRIP)] == [0]
    assert bench.state == "lockout"
    assert bench.keeper.facts.room_mv == NEVER


def test_a_second_is_a_thousand_milliseconds() -> None:
    bench = Bench()
    bench.go("run")
    bench.until(lambda: bench.keeper.watering._second_ms == 0, 2)
    for _ in range(3):
        bench.tick(333)
    assert bench.keeper.watering._second_ms == 999
    bench.tick(1)
    assert bench.keeper.watering._second_ms == 0


def test_a_run_of_a_quarter_of_an_hour_is_told_to_the_second() -> None:
    bench = Bench(hand_minutes=60)
    bench.go("run")
    bench.keeper.relay.on_ms = 1000 * 1000 - TICK_MS
    bench.tick()
    assert bench.q("on_s") == 1000
    bench.keeper.command(STOP, 0)
    bench.until("done")
    assert bench.records(STOPPED)[-1]["on_s"] == 1000


def test_what_the_supply_takes_is_made_good_by_what_was_just_learned() -> None:
    bench = Bench()
    bench.go("run")
    bench.loaded_mv -= 120
    bench.until(lambda: bool(bench.records(LEARNED)), 10)
    charge = bench.keeper.charge
    assert bench.keeper.facts.resistance_mohm == 60
    assert bench.keeper.watering._lift_mv == charge.lift_mv(WORKING_MA)


def test_a_board_that_has_not_pumped_yet_reckons_with_the_site_s_current() -> None:
    keeper = Bench()._board()
    assert keeper.watering.pump_ma == keeper.normal_ma


def test_a_millilitre_is_one_when_it_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """A flow by which one is just not whole after 1.001 s."""
    bench = Bench()
    bench.go("run")
    watering = bench.keeper.watering
    flow_ml_min = next(flow for flow in range(13000, 80000) if flow * 1001 % 60000 == 59999)
    monkeypatch.setattr(bench.keeper.operating, "flow_ml_min", lambda _pa: flow_ml_min)
    watering._ml_min_ms = 0
    before_ml = bench.keeper.facts.night_ml
    watering._run_second(1001)
    assert bench.keeper.facts.night_ml - before_ml == flow_ml_min * 1001 // 60000


def test_seconds_are_carried_to_the_millisecond() -> None:
    bench = Bench()
    bench.go("run")
    watering = bench.keeper.watering
    assert bench._board().watering._run_ms == 0
    watering._run_ms = 0
    watering._run_second(1999)
    assert watering._run_ms == 999
