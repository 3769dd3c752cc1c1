"""What ends a set or leaves it out without a person: rain, and noon, which ends the night."""

import pytest

from keeper.hand import RUN
from keeper.rain import RECORDS_MAX
from keeper.records import AT_NOON, COMPLETE, GIVEN, NIGHT, RAIN, RAINED, SET, SKIP, START

from .bench import Bench


def night(bench: Bench) -> Bench:
    bench.sleep_until("11:50:00")
    return bench


def test_rain_before_its_time_skips_a_set() -> None:
    bench = Bench(rain_skip_s=6 * 3600)
    bench.sleep_until("16:30:00")
    bench.rain = 1
    bench.sleep(600)
    bench.rain = 0
    night(bench)
    assert [skip["cause"] for skip in bench.records(SKIP)] == [RAINED]


def test_rain_long_ago_skips_nothing() -> None:
    bench = Bench(rain_skip_s=5 * 3600)
    bench.sleep_until("16:30:00")
    bench.rain = 1
    bench.sleep(600)
    bench.rain = 0
    night(bench)
    assert not bench.records(SKIP)


@pytest.mark.parametrize("state", ["run", "soak"])
def test_lasting_rain_ends_a_set(state: str) -> None:
    bench = Bench(set1_runs=2, set1_soak_s=1800)
    bench.sleep_until("21:59:00")
    bench.until(state, 1200)
    bench.rain = 1
    bench.sleep(58)
    assert bench.state == state, "a splash is not rain"
    bench.sleep(62)
    assert bench.state == "idle"
    assert bench.records(GIVEN)[-1]["cause"] == RAINED


@pytest.mark.no_cover
@pytest.mark.parametrize(
    ("at", "seconds", "skipped"),
    [("17:00:00", 0.1, 0), ("17:00:00", 59, 0), ("17:00:00", 61, 1), ("21:59:50", 5, 0)],
)
def test_a_blip_of_the_contact_skips_nothing(at: str, seconds: float, skipped: int) -> None:
    """Rain counts after the hold that ends a set."""
    bench = Bench()
    bench.sleep_until(at)
    bench.rain = 1
    bench.tick()
    bench.sleep(int(seconds))
    bench.rain = 0
    night(bench)
    assert [skip["cause"] for skip in bench.records(SKIP)] == [RAINED] * skipped
    assert [rain["closed"] for rain in bench.records(RAIN)] == [1, 0] * skipped


def test_rain_that_has_only_begun_at_its_time_ends_the_set_soon() -> None:
    bench = Bench(clock="21:59:40")
    bench.rain = 1
    bench.until("run", 60)
    bench.until("idle", 60)
    (ended,) = bench.records(GIVEN)
    assert ended["cause"] == RAINED


def test_rain_is_over_for_the_sets_only_after_its_time() -> None:
    bench = Bench(rain_skip_s=7200, clock="21:00:00")
    bench.rain = 1
    bench.sleep(120)
    assert bench.keeper.rain.skips_for_s() == 7200
    bench.rain = 0
    bench.sleep(600)
    assert bench.keeper.rain.skips_for_s() == pytest.approx(6600, abs=61)


@pytest.mark.no_cover
@pytest.mark.parametrize(("wet_s", "dry_s"), [(1, 1), (70, 5), (61, 600)])
def test_a_contact_that_flickers_all_night_does_not_flood_the_log(wet_s: int, dry_s: int) -> None:
    bench = Bench()
    for _ in range(80000 // (wet_s + dry_s)):
        bench.rain = 1
        bench.sleep(wet_s)
        bench.rain = 0
        bench.sleep(dry_s)
    told = [rain["closed"] for rain in bench.records(RAIN)]
    assert told == [1, 0] * (0 if wet_s < 60 else RECORDS_MAX // 2)
    bench.sleep_until("12:10:30")
    bench.rain = 1
    bench.sleep(70)
    assert len(bench.records(RAIN)) == len(told) + 1, "a new night has its own"


@pytest.mark.no_cover
def test_noon_settles_the_night() -> None:
    bench = Bench()
    bench.sleep_until("12:00:30")
    (settled,) = bench.records(NIGHT)
    # 12 A for half an hour, and 10 mA of the board for a day.
    assert settled["used_mah"] == pytest.approx(6000 + 240, abs=30)
    assert settled["left_mah"] == 45000 - settled["used_mah"]
    assert settled["run_s"] == pytest.approx(1800, abs=3)
    spare = 45000 - settled["used_mah"] - 2000
    assert settled["nights_tenths"] == spare * 10 // settled["used_mah"]


def test_a_flat_board_has_no_nights_left_whatever_its_count_says() -> None:
    bench = Bench()
    bench.go("flat")
    bench.sleep_until("12:00:30")
    (settled,) = bench.records(NIGHT)
    assert bench.state == "flat"
    assert bench.keeper.ahead.nights_tenths(6000, 0) > 0
    assert settled["nights_tenths"] == 0


@pytest.mark.parametrize("state", ["soak", "rest"])
def test_noon_cuts_a_set_that_pauses_and_says_so(state: str) -> None:
    """It was "complete" in the log, with half of it given."""
    bench = Bench(set1_start_s=41400, set1_runs=2, set1_soak_s=3600, retry_rest_s=3600)
    bench.sleep_until("11:40:00")
    if state == "rest":
        bench.pressure_pa = 300000
        bench.until("rest", 60)
        bench.pressure_pa = None
    bench.until(state, 600)
    bench.sleep_until("12:00:30")
    assert bench.state == "idle"
    (cut,) = bench.records(GIVEN)
    assert cut["cause"] == AT_NOON
    assert cut["run_s"] == pytest.approx(900 if state == "soak" else 600, abs=9)
    assert bench.keeper.facts.stop_cause == AT_NOON


@pytest.mark.parametrize("state", ["soak", "rest"])
def test_after_noon_no_other_run_of_a_set_starts(state: str) -> None:
    """The run that is being given at noon is given to its end."""
    bench = Bench(set1_start_s=42900, set1_runs=2, set1_soak_s=3600)
    bench.sleep_until("11:56:00")
    bench.sleep_until("12:05:00")
    assert bench.state == "run"
    if state == "rest":
        bench.pressure_pa = 300000
        bench.until("rest", 60)
        bench.pressure_pa = None
    bench.until("idle", 600)
    bench.sleep_until("11:50:00")
    (cut,) = bench.records(GIVEN)
    assert cut["cause"] == AT_NOON
    assert cut["run_s"] == pytest.approx(900 if state == "soak" else 600, abs=9)
    assert len(bench.records(START)) == 1


@pytest.mark.parametrize("state", ["run", "rest"])
def test_noon_is_nothing_to_a_run_by_hand(state: str) -> None:
    bench = Bench(clock="11:58:00", hand_minutes=4)
    bench.keeper.command(RUN, 0)
    bench.until("run")
    if state == "rest":
        bench.pressure_pa = 300000
        bench.until("rest")
        bench.pressure_pa = None
    bench.sleep(900)
    (given_,) = bench.records(GIVEN)
    assert (given_["set"], given_["cause"], given_["run_s"]) == (0, COMPLETE, 240)


def test_a_set_that_runs_over_noon_belongs_to_its_own_night() -> None:
    bench = Bench(set1_start_s=42900)
    bench.sleep_until("11:57:00")
    assert bench.state == "run"
    bench.sleep_until("12:30:00")
    assert bench.records(GIVEN)[0]["run_s"] == 1800
    assert len(bench.records(NIGHT)) == 1
    bench.sleep_until("11:50:00")
    assert len(bench.records(SET)) == 1


def test_rain_that_no_sensor_feels_skips_nothing() -> None:
    bench = Bench(rain_fitted=0)
    bench.rain = 1
    night(bench)
    assert not bench.records(SKIP)
    assert bench.records(START)
