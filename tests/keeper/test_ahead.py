"""Nights left, at the least: by the count, by how the rest voltage falls, by the room at work."""

import pytest

from keeper.ahead import Ahead
from keeper.charge import Charge
from keeper.checked import Settings
from keeper.facts import NEVER, Facts
from keeper.hand import STOP
from keeper.records import NIGHT

from .bench import LOADED_MV, SITE, Bench
from .test_battery import FULL, LEAD

RESERVE = 2000
NOISE_MV = 20


def ahead(**changes: int) -> Ahead:
    """A battery that began full at 12.60 V, and has given a quarter of the label's charge."""
    settings = Settings({**SITE, **LEAD, "battery_error_mv": 0, **changes})
    facts = Facts(settings)
    made = Ahead(settings, facts, Charge(settings, facts))
    made.starts(12600)
    facts.worked = 1
    facts.since_mah = FULL // 4
    facts.left_mah = FULL - FULL // 4
    made.stopped(settings.cutout_mv + 400)
    return made


def test_a_sound_battery_is_told_less_what_a_reading_may_miss() -> None:
    """12.50 V may be 12.48: 30 % gone where 25 % were used, so that 70 % may be five sixths."""
    assert ahead().spare_mah(12500) == pytest.approx(0.7 * FULL * 25 / 30, abs=FULL // 50)


def test_a_tired_battery_falls_further_and_is_told_less() -> None:
    """A third of it gone where a quarter was used: 2/3 and a noise less, times 3/4."""
    share = 1.0 - 1 / 3 - NOISE_MV / 400
    health = 0.25 / (1.0 - share)
    assert ahead().spare_mah(12467) == pytest.approx(
        share * max(health, 0.7) * FULL, abs=FULL // 50
    )


def test_one_that_falls_further_than_any_still_used_is_told_by_its_room() -> None:
    tired = ahead()
    tired.stopped(tired.settings.cutout_mv + 100)
    fall_mv = 200 + NOISE_MV
    assert tired.spare_mah(12400) == pytest.approx(100 * FULL / 4 / fall_mv, abs=FULL // 50)
    tired.stopped(tired.settings.cutout_mv - 5)
    assert tired.spare_mah(12400) == 0


def test_never_more_than_the_count_above_the_reserve() -> None:
    sound = ahead()
    sound.facts.left_mah = 3000
    assert sound.spare_mah(12500) == 1000


@pytest.mark.parametrize("changes", [{"empty_mv": 0}, {"battery_fitted": 0}, {"panel_fitted": 1}])
def test_where_nothing_tells_of_the_battery_it_is_the_count(changes: dict[str, int]) -> None:
    assert ahead(**changes).spare_mah(12500) == FULL - FULL // 4 - RESERVE


def test_before_it_has_worked_or_rested_seven_tenths_of_the_label_are_told() -> None:
    made = ahead()
    assert made.spare_mah(0) == pytest.approx(0.45 * FULL, abs=10)
    made.facts.begun_mv = 0
    assert made.spare_mah(12500) == pytest.approx(0.45 * FULL, abs=10)


def test_one_that_begins_above_the_curve_is_followed_from_its_first_rest() -> None:
    """As a full lithium battery does."""
    made = ahead()
    made.facts.worked = 0
    made.rested(12560)
    assert made.facts.begun_mv == 12600, "it has not worked yet"
    made.starts(14300)
    made.facts.worked = 1
    made.facts.since_mah = FULL // 8
    assert made.spare_mah(12560) == pytest.approx(0.75 * 0.7 * FULL - FULL // 8, abs=10)
    made.rested(12560)
    assert (made.facts.begun_mv, made.facts.since_mah) == (12560, 0)
    tired_mah = 0.75 * FULL - FULL / 8 * 3 / 7
    assert made.facts.begun_mah == pytest.approx(tired_mah, abs=20), "as if it were tired"
    made.facts.since_mah = FULL // 8
    made.rested(12500)
    assert made.facts.begun_mv == 12560
    made.starts(12500)
    assert made.facts.begun_mv == 12560


def test_nights_left_follow_what_a_night_takes() -> None:
    made = ahead(panel_fitted=1)
    assert made.nights_tenths(0, 0) == 0
    assert made.nights_tenths(10000, 0) == (FULL - FULL // 4 - RESERVE) // 1000
    made.facts.used_mah = 10000
    made.learn_night()
    made.facts.used_mah = 6000
    made.learn_night()
    assert made.facts.night_use_mah == 9000
    made.facts.left_mah = 0
    assert made.nights_tenths(10000, 0) == 0


@pytest.mark.no_cover
def test_the_record_of_the_night_tells_it() -> None:
    """Half an hour of 12 A out of 45 Ah; 12.60 V come back to 12.52 V."""
    bench = Bench(clock="12:01:00", **LEAD)
    bench.sleep_until("21:59:00")
    bench.until("run", 600)
    bench.rest_mv = 12520
    bench.until("idle", 3600)
    bench.sleep_until("12:01:00")
    told = bench.records(NIGHT)[-1]
    assert 20 < told["nights_tenths"] < (told["left_mah"] - RESERVE) * 10 // told["used_mah"]


def test_until_a_run_has_told_its_room_that_is_no_bound() -> None:
    """A dry source stops every run of a full battery: it holds what it holds."""
    made = ahead()
    made.facts.room_mv = NEVER
    told_mah = made.spare_mah(12500)
    assert told_mah == pytest.approx(0.7 * FULL * 25 / 30, abs=FULL // 50)
    made.stopped(made.settings.cutout_mv)
    assert made.spare_mah(12500) == 0


@pytest.mark.parametrize(("rest_mv", "bounded"), [(12560, False), (12559, True)])
def test_the_noise_over_little_charge_is_no_bound(rest_mv: int, bounded: bool) -> None:
    """A minute's run: 0.15 Ah were used, and 40 mV may be two readings apart."""
    made = ahead()
    made.facts.since_mah = 150
    made.facts.left_mah = FULL - 150
    by_room_mah = 400 * 150 // (12600 - rest_mv + NOISE_MV)
    assert (made.spare_mah(rest_mv) == by_room_mah) == bounded
    assert bounded or made.spare_mah(rest_mv) > 0.59 * FULL


@pytest.mark.parametrize(("used_mah", "bounded"), [(-1, False), (0, True)])
def test_from_a_sixteenth_of_its_charge_on_it_is(used_mah: int, bounded: bool) -> None:
    made = ahead()
    made.facts.since_mah = FULL // 16 + used_mah
    made.stopped(made.settings.cutout_mv + 20)
    by_room_mah = 20 * made.facts.since_mah // (20 + NOISE_MV)
    assert (made.spare_mah(12580) == by_room_mah) == bounded


def test_a_run_that_a_rule_has_stopped_tells_no_room() -> None:
    bench = Bench(**LEAD)
    bench.go("run")
    bench.ticks(8000)
    bench.pressure_pa = 300000
    bench.until("rest")
    assert bench.keeper.facts.room_mv == NEVER
    bench.pressure_pa = None
    bench.until("run", 600)
    bench.ticks(8000)
    bench.keeper.command(STOP, 0)
    bench.until("done")
    assert bench.keeper.facts.room_mv == pytest.approx(LOADED_MV + 600 + 200 - 12100, abs=60)


# A cold battery's last quarter: 100 mV above empty, and past it only 240 mohm are made good.

QUARTER = FULL // 4
COLD = {"resistance_mohm": 240, "resistance_warn_mohm": 245, "resistance_refuse_mohm": 500}


def cold(resistance_mohm: int, pump_ma: int = 10100, **changes: int) -> Ahead:
    """The same battery with such a resistance, learned at its last start."""
    made = ahead(**{**COLD, "current_zero_ma": pump_ma - 4000, **changes})
    made.facts.resistance_mohm = resistance_mohm
    return made


@pytest.mark.parametrize(
    ("pump_ma", "resistance_mohm", "had"),
    [(10000, 250, True), (10100, 250, False), (10100, 249, True), (10100, 0, True)],
)
def test_a_quarter_that_is_lost_to_resistance_is_not_counted_on(
    pump_ma: int, resistance_mohm: int, had: bool
) -> None:
    """10.0 A over 10 mohm more are its 100 mV, 10.1 A are 101. Before it is followed, seven
    tenths of the other three quarters; after a power loss (0) no resistance is known."""
    made = cold(resistance_mohm, pump_ma)
    made.facts.begun_mah = FULL - 1
    counted_mah = FULL - 1 - (0 if had else QUARTER)
    assert made.spare_mah(0) == counted_mah // 10 * 7 - FULL // 4


def test_the_last_run_begins_above_it_and_is_given_whole() -> None:
    """12.50 V, may be 12.48: 31.48 Ah by the curve, of one that gave 11.25 where the curve says
    13.52, and so holds 832 permille of its label."""
    warm_mah = 31480 * 832 // 1000
    assert cold(240).spare_mah(12500) == warm_mah
    quarter_mah = QUARTER * 832 // 1000
    made = cold(250)
    assert made.spare_mah(12500) == warm_mah - quarter_mah, "what a night takes is not known"
    made.facts.night_use_mah = 4000
    assert made.spare_mah(12500) == warm_mah - quarter_mah + 4000
    made.facts.night_use_mah = quarter_mah + 1
    assert made.spare_mah(12500) == warm_mah, "one night takes more than the quarter"


def test_a_supply_past_its_limit_is_not_made_good_either() -> None:
    """More than the limit is not made good at any charge: it makes no difference at a quarter."""
    assert cold(900, resistance_refuse_mohm=249).spare_mah(0) == FULL // 10 * 7 - FULL // 4
