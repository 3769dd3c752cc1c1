"""Small slips of a board that waits, which no other test would notice.

As in test_small_slips.py each was found by a changed line of ``waiting.py`` that all tests let
pass.
"""

import pytest

from keeper import Settings, memory
from keeper.check import RESTED_MS
from keeper.hand import CLOCK, STOP
from keeper.plan import HAND
from keeper.quantities import QUANTITIES
from keeper.records import BATTERY, GIVEN, NIGHT, NO_CLOCK, RAINED, SKIP
from keeper.waiting import DECAYS_MS

from .bench import DAY_MS, SITE, TICK_MS, Bench
from .test_panel import PANEL
from .test_slips_of_charge import KNOWN_MV

LOOK_MS = 60000
"""A board that waits looks so seldom."""


def test_how_a_battery_reads_is_noted_only_when_it_has_been_used_up() -> None:
    """Just after a run it reads low: by that measure its own recovery would be a charge."""
    bench = Bench()
    noted_mv = bench.keeper.facts.rest_over_mv
    bench.go("run")
    bench.loaded_mv -= 100
    bench.ticks(60000)
    bench.keeper.command(STOP, 0)
    bench.until("done")
    assert bench.keeper.facts.rest_over_mv == noted_mv
    used_up = Bench()
    noted_mv = used_up.keeper.facts.rest_over_mv
    used_up.go("flat")
    assert used_up.keeper.facts.rest_over_mv != noted_mv


@pytest.mark.parametrize(("below_mv", "state"), [(5, "flat"), (0, "idle")])
def test_a_flat_battery_that_comes_back_at_the_limit_is_charged(below_mv: int, state: str) -> None:
    bench = Bench(set1_unit=0)
    bench.go("flat")
    bench.battery_mv = 0
    bench.sleep(3600)
    bench.battery_mv = SITE["reconnect_mv"] - bench.keeper.facts.reads_low_mv - below_mv
    bench.sleep(60)
    assert bench.state == state


def test_what_midnight_has_shown_is_saved() -> None:
    bench = Bench(clock="19:00:00", set1_unit=0, **PANEL)
    bench.rest_mv = 12300
    bench.sleep_until("23:59:00")
    changed = bench.keeper.changed
    bench.sleep_until("00:02:00")
    assert bench.keeper.changed > changed


@pytest.mark.parametrize(
    ("second", "dark"), [(75599, False), (75600, True), (1799, True), (1800, False)]
)
def test_it_is_dark_from_nine_until_half_past_midnight(second: int, dark: bool) -> None:
    """By standard time, in the watering season: later and earlier the sun may lift a battery."""
    bench = Bench()
    bench.keeper.journal.second = second
    assert bench.keeper.waiting.dark() == dark


@pytest.mark.parametrize(("fall_mv", "told"), [(55, 0), (60, 1)])
def test_a_battery_that_falls_by_a_whole_step_at_once_is_judged(fall_mv: int, told: int) -> None:
    bench = Bench(**KNOWN_MV, set1_unit=0)
    bench.rest_mv = 12500
    bench.sleep(7200)
    before = len(bench.records(BATTERY))
    bench.keeper.waiting.seen_mv = bench.q("battery_mv")
    bench.rest_mv = bench.q("battery_mv") - fall_mv
    bench.sleep(120)
    assert len(bench.records(BATTERY)) - before == told


@pytest.mark.parametrize(("below_mv", "weighs"), [(0, 0), (1, 1)])
def test_a_battery_that_is_being_charged_is_not_weighed(below_mv: int, weighs: int) -> None:
    bench = Bench(set1_unit=0)
    bench.keeper.facts.off_ms = RESTED_MS
    bench.keeper.q[QUANTITIES.index("battery_mv")] = bench.settings.charging_mv - below_mv
    before = bench.keeper.changed
    bench.keeper.facts.rest_over_mv = 10000  # So that it is no other battery.
    bench.keeper.waiting._weigh()
    assert bench.keeper.changed - before == weighs


@pytest.mark.parametrize(("short_ms", "rested"), [(0, True), (1, False)])
def test_a_battery_has_rested_to_the_millisecond(short_ms: int, rested: bool) -> None:
    bench = Bench(set1_unit=0)
    bench.keeper.waiting._rested = False
    bench.keeper.facts.off_ms = RESTED_MS - short_ms
    bench.keeper.waiting.feel_battery(0)
    assert bench.keeper.waiting._rested == rested


def test_other_settings_leave_the_battery_that_was_seen() -> None:
    bench = Bench(set1_unit=0)
    seen_mv = bench.keeper.waiting.seen_mv
    before = bench.keeper
    bench.settings = Settings({**bench.settings.values(), "hand_minutes": 5}, trial=True)
    after = bench._board()
    memory.load(after, memory.save(before))
    after.take_over(before, False)
    assert after.waiting.seen_mv == seen_mv > 0


def test_noon_follows_a_battery_that_has_rested(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench(clock="11:00:00", set1_unit=0)
    bench.keeper.facts.night_run_s = 60
    bench.keeper.facts.off_ms = RESTED_MS
    told: list[int] = []
    monkeypatch.setattr(bench.keeper.ahead, "rested", told.append)
    bench.sleep_until("12:00:30")
    assert told == [bench.q("battery_mv")]


def test_posts_are_held_to_the_millisecond() -> None:
    bench = Bench(set1_unit=0, **PANEL)
    waiting, facts = bench.keeper.waiting, bench.keeper.facts
    facts.left_mah = 5000
    for dt_ms in (60000, 599998):
        waiting._watch_panel(dt_ms, bench.settings.held_mv)
        assert facts.left_mah == 5000
    waiting._watch_panel(1, bench.settings.held_mv)
    assert facts.left_mah == bench.settings.capacity_mah


@pytest.mark.parametrize("short_ms", [0, TICK_MS])
def test_a_battery_that_comes_back_has_rested_to_the_tick(short_ms: int) -> None:
    """One that has not may still rise, and is believed to hold more."""
    bench = Bench(**KNOWN_MV, set1_unit=0)
    bench.battery_mv = 0
    bench.until(lambda: bench.keeper.waiting.seen_mv == 0)
    facts, charge = bench.keeper.facts, bench.keeper.charge
    bench.battery_mv = 12200
    while bench.keeper.waiting.seen_mv == 0:
        facts.off_ms = RESTED_MS - short_ms - LOOK_MS
        facts.left_mah = SITE["capacity_mah"]
        bench.tick()
    may_rise_mv = charge.unrested_mv if short_ms else 0
    seen_mv = bench.keeper.waiting.seen_mv
    left_mah = charge.mah_at(seen_mv + facts.reads_low_mv + may_rise_mv)
    assert facts.left_mah == bench.records(BATTERY)[-1]["left_mah"] == left_mah


def test_nights_left_are_those_of_what_the_sets_take() -> None:
    """Half an hour of 12 A is 6 Ah: 5.99 Ah above the reserve are not one night."""
    bench = Bench(board_ua=0)
    bench.keeper.facts.left_mah = bench.settings.reserve_mah + 5990
    assert bench.keeper.waiting.nights_left_tenths() == 9
    bench.keeper.facts.left_mah += 10
    assert bench.keeper.waiting.nights_left_tenths() == 10


def test_a_board_does_not_nap_while_it_watches_a_line_settle() -> None:
    bench = Bench()
    bench.go("done")
    bench.ticks(10000)
    assert bench.keeper.nap_ms == 0
    bench.sleep(20)
    assert 0 < bench.keeper.waiting.decay_in_ms() < 60000
    bench.keeper.facts.off_ms = 700000
    assert bench.keeper.waiting.decay_in_ms() == 0, "what is late is logged now"


def test_how_a_line_settles_is_logged_at_these_times() -> None:
    assert DECAYS_MS == (500, 1000, 2000, 5000, 15000, 60000, 600000)


def test_a_set_that_a_wrong_clock_costs_has_no_more_to_say() -> None:
    bench = Bench(clock="21:30:00", set1_window_s=60)
    bench.clock_ok = 0
    bench.sleep_until("22:30:00")
    told = [(skip["set"], skip["cause"], skip["value"]) for skip in bench.records(SKIP)]
    assert told == [(1, NO_CLOCK, 0)]


@pytest.mark.parametrize(("clock", "waits"), [("22:57:59", True), ("22:58:00", False)])
def test_a_set_waits_until_two_minutes_before_its_window_ends(clock: str, waits: bool) -> None:
    bench = Bench(clock=clock, duty_s=2400, set1_window_s=3600)
    facts = bench.keeper.facts
    facts.stop_set, facts.heat_ms = HAND, 2400000
    assert bench.keeper.waiting.must_rest(1) == waits


@pytest.mark.parametrize(("below_mv", "state"), [(5, "flat"), (0, "idle")])
def test_midnight_counts_what_the_channel_reads_low(below_mv: int, state: str) -> None:
    bench = Bench(set1_unit=0, **KNOWN_MV, panel_fitted=1)
    bench.go("flat")
    bench.keeper.facts.reads_low_mv = 50
    bench.rest_mv = SITE["reconnect_mv"] - 50 - below_mv
    bench.sleep_until("00:05:00")
    assert bench.keeper.facts.reads_low_mv == 50
    assert bench.state == state


def test_rest_is_read_after_the_first_second_of_a_check() -> None:
    bench = Bench()
    bench.go("check")
    bench.tick(1000 - bench.keeper.in_state_ms)
    assert bench.keeper.check._samples == 0
    bench.tick(1)
    assert bench.keeper.check._samples == 1


def test_posts_are_held_for_ten_minutes_from_the_first_look_on() -> None:
    bench = Bench(set1_unit=0, **PANEL)
    bench.keeper.facts.left_mah = 5000
    bench.rest_mv = 14400
    bench.until(lambda: bench.keeper.waiting.seen_mv > 14000)
    bench.sleep(570)
    assert bench.keeper.facts.left_mah <= 5000
    bench.sleep(60)
    assert bench.keeper.facts.left_mah == bench.settings.capacity_mah


def test_a_charge_is_held_to_the_millisecond_and_anew_each_time() -> None:
    """From the first look, which counts for one."""
    bench = Bench(set1_unit=0, charging_hold_ms=1001)
    bench.go("flat")
    for volts_mv in (SITE["reconnect_mv"] - 10, bench.settings.charging_mv, 12000):
        bench.rest_mv = volts_mv
        bench.until(lambda: abs(bench.keeper.waiting.seen_mv - bench.rest_mv) <= 5)
        bench.ticks(500)
    assert bench.keeper.waiting.charged_ms == 0
    bench.rest_mv = bench.settings.charging_mv
    bench.until(lambda: bench.keeper.waiting.charged_ms > 0)
    assert bench.keeper.waiting.charged_ms == 1
    bench.ticks(900)
    assert bench.state == "flat"
    bench.tick()
    assert bench.state == "idle"


def test_a_charge_that_could_not_be_read_is_held_anew() -> None:
    bench = Bench(set1_unit=0, charging_hold_ms=60000)
    bench.go("flat")
    bench.rest_mv = bench.settings.charging_mv + 50
    bench.until(lambda: bench.keeper.waiting.charged_ms > 30000)
    bench.raw = {"battery": -1}
    bench.until(lambda: bench.keeper.waiting.seen_mv == 0)
    assert bench.keeper.waiting.charged_ms == 0
    assert bench.state == "flat"


def test_a_first_look_at_posts_that_are_held_is_no_hold() -> None:
    bench = Bench(set1_unit=0, **PANEL)
    waiting = bench._board().waiting
    waiting._watch_panel(LOOK_MS, bench.settings.held_mv)
    assert waiting._held_ms == 1


def test_a_flat_battery_begins_with_no_charge() -> None:
    """What the one before was charged is not its own."""
    bench = Bench()
    bench.go("run")
    bench.keeper.waiting.charged_ms = 5000
    bench.go("flat")
    assert bench.keeper.waiting.charged_ms == 0


@pytest.mark.parametrize(
    ("off_ms", "over_mv", "judged"),
    [
        (600000, -1, True),
        (599999, -1, False),
        (600000, 0, False),
    ],
)
def test_a_step_is_judged_ten_minutes_after_a_stop_and_below_a_charger(
    off_ms: int, over_mv: int, judged: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench(set1_unit=0)
    told: list[int] = []
    monkeypatch.setattr(bench.keeper.waiting, "_judge", told.append)
    mv = bench.settings.charging_mv + over_mv
    bench.keeper.q[QUANTITIES.index("battery_mv")] = mv
    bench.keeper.waiting.seen_mv = mv - 100
    bench.keeper.facts.off_ms = off_ms
    bench.keeper.waiting.feel_battery(0)
    assert told == [mv] * judged


def test_how_a_battery_reads_that_holds_less_than_was_counted_is_noted() -> None:
    bench = Bench(**KNOWN_MV, set1_unit=0)
    bench.battery_mv = 0
    bench.until(lambda: bench.keeper.waiting.seen_mv == 0)
    bench.battery_mv = 12200
    bench.until(lambda: bench.keeper.waiting.seen_mv > 0)
    facts, charge = bench.keeper.facts, bench.keeper.charge
    assert facts.left_mah < SITE["capacity_mah"]
    assert facts.rest_over_mv == bench.keeper.waiting.seen_mv - charge.mv_at(facts.left_mah)


@pytest.mark.parametrize(("below_mv", "charged"), [(1, False), (0, True)])
def test_a_flat_battery_is_charged_by_what_it_reads_and_the_channel_s_error(
    below_mv: int, charged: bool
) -> None:
    bench = Bench(**KNOWN_MV, set1_unit=0)
    bench.go("flat")
    facts = bench.keeper.facts
    facts.reads_low_mv, facts.rest_over_mv = 50, -2000
    assert bench.keeper.waiting._is_charged(SITE["reconnect_mv"] - 50 - below_mv) == charged


def test_midnight_takes_no_battery_for_another_where_none_was_flat() -> None:
    bench = Bench(clock="19:00:00", set1_unit=0, **PANEL)
    bench.rest_mv = 12600
    bench.keeper.facts.worked = 1
    bench.sleep_until("00:05:00")
    assert bench.keeper.facts.worked == 1


def test_a_soak_lasts_to_the_tick() -> None:
    bench = Bench()
    bench.go("soak")
    begun_ms = bench.at_ms
    bench.until("check", 700)
    assert bench.at_ms - begun_ms == 600000


@pytest.mark.parametrize(("heat_ms", "waits"), [(999, False), (1000, True)])
def test_a_motor_is_warm_from_the_first_second(heat_ms: int, waits: bool) -> None:
    bench = Bench(clock="22:10:00", duty_s=1800, set1_window_s=3600)
    bench.keeper.facts.stop_set, bench.keeper.facts.heat_ms = HAND, heat_ms
    assert bench.keeper.waiting.must_rest(1) == waits


def test_a_run_by_hand_that_has_ended_says_nothing_of_the_night() -> None:
    """Whether in a night that was stopped, or in one whose sets are still to come."""
    bench = Bench()
    bench.go("run")
    bench.until("idle")
    assert bench.keeper.facts.night_over == 0
    bench.go("done")
    bench.go("run")
    assert bench.keeper.facts.night_over == 1
    bench.until("done")
    assert bench.keeper.facts.night_over == 0


def test_a_clock_that_was_days_ahead_silences_no_night_without_a_set() -> None:
    bench = Bench(clock="11:00:00", set1_unit=0)
    for off_days in (5, 0):
        bench.clock_off_ms = off_days * DAY_MS
        bench.keeper.command(CLOCK, 0)
        bench.sleep(2 * 86400)
    told = [record["run_s"] for record in bench.records(NIGHT)]
    assert told == [0] * 4


def test_rain_ends_a_set_that_pauses() -> None:
    bench = Bench()
    bench.go("soak")
    bench.rain = 1
    bench.until(lambda: bench.state != "soak", 120)
    assert bench.state == "idle"
    assert bench.records(GIVEN)[-1]["cause"] == RAINED


@pytest.mark.parametrize(("nights", "given"), [(0, True), (1, False)])
def test_a_hold_ends_with_its_last_night(nights: int, given: bool) -> None:
    bench = Bench(clock="21:00:00")
    bench.keeper.facts.hold_until_night = bench.keeper.facts.night + nights
    bench.sleep(2 * 3600)
    assert bool(bench.records(GIVEN)) == given


def test_a_set_is_not_missed_by_a_clock_that_was_never_set() -> None:
    bench = Bench(clock="12:30:00", set1_start_s=13 * 3600, set1_window_s=60)
    bench.clock_ok = 0
    bench.reboot()
    bench.sleep(3 * 3600)
    assert not bench.records(SKIP)
