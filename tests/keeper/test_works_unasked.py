"""A pump that works while it is told to stand, on a board in each quiet state."""

import pytest

from keeper.records import NIGHT, TRIP
from keeper.standstill import BY_ITSELF, INVERTED, SINCE_POWER, STAYED

from .bench import Bench
from .standing import BLIND, NO_BATTERY

STATES = ("idle", "soak", "rest", "done", "flat", "lockout")


@pytest.mark.parametrize("state", STATES)
def test_every_quiet_state_sees_it_within_two_minutes(state: str) -> None:
    bench = Bench(clock="22:30:00", set1_unit=0, retry_rest_s=3000, **BLIND)
    bench.go(state)
    bench.sleep(400)
    assert bench.state == state
    assert not bench.said("relay closed")
    bench.pressure_pa, bench.battery_mv = 200000, bench.rest_mv - 300
    bench.sleep(62)
    (said,) = bench.said("relay closed")
    assert (said["value"], bench.state) == (BY_ITSELF, "lockout")


def test_a_relay_that_turns_backwards_in_the_run_has_not_stayed_closed() -> None:
    bench = Bench()
    bench.go("run")
    bench.load_on = 0
    bench.until(lambda: not bench.level)
    bench.load_on = 1
    bench.until("lockout")
    assert bench.said("relay open")
    assert [said["value"] for said in bench.said("relay closed")] == [INVERTED]


def test_a_lockout_tells_of_it_once_a_night_and_after_every_clear() -> None:
    bench = Bench(clock="22:30:00", set1_unit=0)
    bench.go("lockout")
    bench.load_on = 1
    bench.sleep_until("11:59:00")
    assert len(bench.said("relay closed")) == 1
    assert bench.keeper.nap_ms > 0, "told once, it may sleep again"
    bench.sleep_until("12:02:00")
    assert len(bench.said("relay closed")) == 2
    bench.clear()
    bench.sleep(5)
    assert len(bench.said("relay closed")) == 3
    assert bench.state == "lockout"


def test_a_board_that_wakes_again_beside_a_flat_battery_has_said_it() -> None:
    """An active-low module pumps on: until noon, or a person, power that comes back is no news."""
    bench = Bench(clock="13:00:00")
    bench.load_on = 1
    bench.until("lockout")
    for _ in range(3):
        bench.reboot(away_ms=600000)
        bench.sleep(120)
    assert bench.state == "lockout"
    assert len(bench.said("relay closed")) == 1
    bench.reboot(away_ms=24 * 3600000)
    bench.sleep(120)
    assert len(bench.said("relay closed")) == 2
    bench.clear()
    bench.sleep(5)
    assert len(bench.said("relay closed")) == 3


def test_a_lockout_for_something_else_still_tells_of_it_after_power() -> None:
    bench = Bench(clock="13:00:00")
    bench.go("lockout")
    bench.reboot(away_ms=60000)
    bench.load_on = 1
    bench.sleep(120)
    assert len(bench.said("relay closed")) == 1


def test_a_lockout_s_record_is_saved() -> None:
    bench = Bench()
    bench.go("lockout")
    changed = bench.keeper.changed
    bench.load_on = 1
    bench.sleep(70)
    assert bench.keeper.changed == changed + 1


@pytest.mark.parametrize(
    ("settings", "ma"), [({}, 12000), ({"current_fitted": 1}, 6000)], ids=["reckoned", "measured"]
)
def test_the_charge_that_flows_is_counted_and_the_motor_warms(
    settings: dict[str, int], ma: int
) -> None:
    bench = Bench(set1_unit=0, board_ua=0, **settings)
    bench.sleep(120)
    facts = bench.keeper.facts
    assert facts.used_mah == facts.heat_ms == 0
    bench.load_on, bench.pressure_pa = 1, 200000
    bench.raw = {"current": 600}
    bench.sleep(3600)
    assert facts.used_mah == pytest.approx(ma, rel=0.03)
    assert facts.left_mah == bench.settings.capacity_mah - facts.used_mah
    assert facts.heat_ms == pytest.approx(3600000, rel=0.03)
    bench.load_on = 0
    bench.raw = {}
    bench.sleep(60)
    assert facts.heat_ms < 3600000


def test_a_current_that_cannot_be_read_is_reckoned() -> None:
    bench = Bench(set1_unit=0, board_ua=0, current_fitted=1)
    bench.load_on, bench.pressure_pa = 1, 200000
    bench.raw = {"current": 4095}
    bench.sleep(3600)
    assert bench.keeper.facts.used_mah == pytest.approx(12000, rel=0.03)


def test_an_active_low_module_without_load_sense() -> None:
    """Locked within two minutes of power; cleared unseen, its first start tells it again."""
    bench = Bench(set1_unit=0, **BLIND)
    bench.pressure_pa, bench.battery_mv = 200000, 12000
    bench.reboot()
    bench.until(lambda: bench.keeper.standstill.doubt, 70)
    assert bench.keeper.nap_ms == 0
    bench.sleep(30)
    bench.pressure_pa = 200800
    bench.sleep(90)
    (said,) = bench.said("relay closed")
    assert said["value"] == SINCE_POWER
    bench.clear()
    bench.sleep(300)
    assert bench.state == "idle"
    bench.go("check")
    bench.until("prime")
    bench.pressure_pa, bench.battery_mv = 0, 12600
    bench.until("lockout", 10)
    assert [trip["value"] for trip in bench.said("relay closed")] == [SINCE_POWER, INVERTED]
    assert bench.records(TRIP)[-1]["rule"] == said["rule"]


def test_a_sagging_battery_at_midnight_says_nothing_of_its_charge() -> None:
    bench = Bench(
        clock="19:00:00", set1_unit=0, panel_fitted=1, empty_mv=12000, charged_mv=12600, board_ua=0
    )
    bench.load_on, bench.rest_mv, bench.pressure_pa = 1, 12000, 0
    bench.sleep_until("23:59:00")
    before = bench.keeper.facts.left_mah
    bench.sleep_until("00:05:00")
    assert before - bench.keeper.facts.left_mah < 1500


def test_other_settings_know_how_the_line_stands() -> None:
    """A shut line is none that has its pressure since power came."""
    bench = Bench(set1_unit=0, **BLIND)
    bench.sleep(120)
    bench.pressure_pa = 270000
    bench.sleep(120)
    bench.apply(dry_hold_ms=7000)
    bench.sleep(300)
    assert bench.state == "idle"
    bench.pressure_pa, bench.battery_mv = 380000, 12200
    bench.sleep(70)
    assert [trip["value"] for trip in bench.said("relay closed")] == [BY_ITSELF]


def test_settings_that_come_just_after_a_stop_hide_no_weld() -> None:
    bench = Bench(set1_unit=0, **BLIND)
    bench.go("run")
    bench.ticks(10000)
    bench.pressure_pa, bench.battery_mv = 200000, 12000
    bench.keeper.command(3, 0)
    bench.tick()
    bench.apply(dry_hold_ms=7000)
    bench.sleep(10)
    assert [trip["value"] for trip in bench.said("relay closed")] == [STAYED]


@pytest.mark.no_cover
@pytest.mark.parametrize("settings", [BLIND, {**BLIND, "panel_fitted": 1}, NO_BATTERY])
def test_nights_with_a_line_that_holds_do_not_trip(settings: dict[str, int]) -> None:
    """Two runs a night; a tap that is shut after one, a battery carried home, the sun."""
    bench = Bench(set1_runs=2, set1_soak_s=600, **settings)
    for _ in range(3):
        bench.until(lambda: bench.level == 1, 90000)
        bench.until(lambda: bench.level == 0, 4000)
        bench.until("idle", 4000)
        bench.sleep(20)
        for pa in (40000, 80000, 120000, 60000, 0):
            bench.pressure_pa = pa
            bench.sleep(150)
        bench.rest_mv = 13900
        bench.sleep(3000)
        bench.rest_mv = 12600
        bench.pressure_pa = None
        bench.reboot()
    assert not bench.said("relay closed")
    assert len(bench.records(NIGHT)) >= 2
