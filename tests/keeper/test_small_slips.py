"""Small slips that no other test would notice: a state not saved, a record too many, a tick more.

Each was found by a changed line of the control package that all tests let pass.
"""

import pytest

from keeper import Keeper, Settings, memory
from keeper.charge import Charge
from keeper.check import RESTED_MS
from keeper.clockwatch import ClockWatch
from keeper.facts import NEVER
from keeper.hand import HOLD, RUN, STOP
from keeper.plan import Plan
from keeper.records import CLOCK, KIND, LEARNED, MINUTE, NORMAL, SKIP, START, TRUST
from keeper.records import STOP as STOPPED
from keeper.relay import Relay
from keeper.sense import GOOD, JUMP, STUCK, Channel, Senses
from keeper.watering import LEARN_S

from .bench import DAY_MS, SITE, TICK_MS, Bench, part

MA_MS_PER_MAH = 3600000
PANEL = {"panel_fitted": 1, "empty_mv": 12000, "charged_mv": 12600}


def counted(bench: Bench) -> int:
    """Charge counted so far, in mA ms."""
    facts = bench.keeper.facts
    return int(facts.used_mah * MA_MS_PER_MAH + facts.part_ma_ms)


# What is kept: a change that is worth remembering is counted.


def test_what_is_learned_and_each_minute_are_saved() -> None:
    bench = Bench()
    bench.go("run")
    changes = []
    while len(bench.records(MINUTE)) < 2:
        before, lines = bench.keeper.changed, len(bench.log)
        bench.tick()
        if {row[KIND] for row in bench.log[lines:]} & {NORMAL, MINUTE}:
            changes.append((len(bench.log) - lines, bench.keeper.changed - before))
    # What is normal is known with the first minute.
    assert changes == [(2, 2), (1, 1)]


def test_a_skipped_set_and_a_noon_are_saved() -> None:
    bench = Bench(clock="21:59:50")
    bench.keeper.command(HOLD, 2)
    bench.ticks(200)
    before = bench.keeper.changed
    bench.sleep(20)
    (skip,) = bench.records(SKIP)
    assert skip["value"] == 2, "as many nights as were asked for"
    assert bench.keeper.changed == before + 1
    bench.sleep_until("11:59:50")
    before = bench.keeper.changed
    bench.sleep(20)
    assert bench.keeper.changed > before


def test_records_of_a_minute_come_once_a_minute() -> None:
    bench = Bench()
    bench.go("run")
    bench.ticks(185000)
    assert len(bench.records(MINUTE)) == 3


# A person's stop.


def test_a_stop_in_a_soak_ends_the_set_and_one_in_idle_nothing() -> None:
    bench = Bench()
    bench.go("soak")
    bench.keeper.command(STOP, 0)
    bench.tick()
    assert bench.state == "done"
    bench.clear()
    bench.keeper.command(STOP, 0)
    bench.tick()
    assert bench.state == "idle"


# Nights and noons.


def test_a_noon_in_mid_run_learns_tonight_s_pressure_anew() -> None:
    """Else the sum of a run before noon would be taken for a minute after it."""
    bench = Bench(clock="11:58:00", set1_unit=0)
    bench.keeper.command(RUN, 10)
    bench.until("run", 60)
    bench.sleep_until("12:00:00")
    assert len(bench.records(NORMAL)) == 1
    bench.sleep(50)
    assert len(bench.records(NORMAL)) == 1
    bench.sleep(20)
    assert [row["pressure_pa"] for row in bench.records(NORMAL)] == pytest.approx(
        [200000] * 2, abs=20
    )


def test_a_night_without_sets_teaches_nothing() -> None:
    bench = Bench(set1_unit=0, board_ua=200000)
    bench.go("done")
    bench.sleep_until("12:01:00")
    assert bench.keeper.facts.night_use_mah == 0


def at_midnight(off_ms: int, second: int) -> Bench:
    """One late look, at this second of a new day, by a panel's board."""
    bench = Bench(clock="23:00:00", set1_unit=0, board_ua=0, **PANEL)
    facts = bench.keeper.facts
    facts.left_mah = 5000
    bench.rest_mv = 12600
    late_ms = (3600 + second) * 1000 - bench.at_ms % 3600000
    facts.off_ms = off_ms - late_ms
    bench.tick(late_ms)
    return bench


@pytest.mark.parametrize(
    ("off_ms", "second", "believed"),
    [
        (RESTED_MS, 60, True),
        (RESTED_MS - 1, 60, False),
        (1 << 27, 1799, True),
        (1 << 27, 1800, False),
    ],
)
def test_a_panel_s_battery_is_judged_rested_and_in_the_dark(
    off_ms: int, second: int, believed: bool
) -> None:
    assert (at_midnight(off_ms, second).keeper.facts.left_mah > 5000) == believed


def test_and_once_a_night() -> None:
    bench = at_midnight(1 << 27, 60)
    bench.keeper.facts.left_mah = 5000
    bench.sleep(900)
    assert bench.keeper.facts.left_mah == 5000


def test_a_charger_begins_at_its_voltage() -> None:
    for below_mv, state in ((5, "flat"), (0, "idle")):
        bench = Bench(set1_unit=0)
        bench.go("flat")
        bench.rest_mv = bench.settings.charging_mv - below_mv
        bench.sleep(200)
        assert bench.state == state


# Time and charge to the tick.


def test_a_pause_ends_at_its_time() -> None:
    bench = Bench(retry_rest_s=130)
    bench.go("rest")
    began_ms = bench.at_ms
    bench.until("check")
    assert bench.at_ms - began_ms == 130000


def test_seconds_are_counted_from_the_closing_of_the_relay_on() -> None:
    """At every tenth tick, and no more than a second and a half of a late one."""
    bench = Bench(board_ua=0)
    bench.go("prime")
    counts = []
    for _ in range(20):
        before = counted(bench)
        bench.tick()
        counts.append((counted(bench) - before) // 8000)
    assert counts == ([0] * 9 + [1000]) * 2
    before = counted(bench)
    bench.tick(3000)
    assert counted(bench) - before == 8000 * 1500


def test_the_second_run_counts_its_seconds_as_the_first() -> None:
    bench = Bench(board_ua=0)
    for _ in range(2):
        bench.go("run")
        began_ms = bench.at_ms
        bench.log.clear()
        bench.until(lambda: bool(bench.records(LEARNED)), 10)
        learned_ms = bench.at_ms - began_ms
        assert LEARN_S * 1000 - 1000 < learned_ms <= LEARN_S * 1000
        bench.ticks(2300)
        before = counted(bench)
        bench.keeper.command(STOP, 0)
        bench.tick()
        assert counted(bench) - before <= 12000 * 1000
        bench.clear()
        bench.go("prime")
        bench.ticks(900 - TICK_MS)
        before = counted(bench)
        bench.tick()
        assert counted(bench) == before, "no second is over yet"
        bench.pressure_pa = None
        bench.keeper.command(STOP, 0)
        bench.tick()


def test_a_start_s_age_is_counted_to_the_minute() -> None:
    bench = Bench()
    bench.go("run")
    bench.until(lambda: bool(bench.records(MINUTE)), 70)
    assert min(bench.keeper.facts.start_ages_ms) == 60000


def test_a_stop_before_there_is_water_has_given_none() -> None:
    bench = Bench()
    bench.go("prime")
    bench.ticks(5000)
    bench.keeper.command(STOP, 0)
    bench.tick()
    assert bench.records(STOPPED)[-1]["given_ml"] == 0


def test_no_nap_while_a_finger_is_on_the_button() -> None:
    bench = Bench()
    bench.sleep(60)
    bench.button = 1
    bench.tick()
    assert bench.keeper.nap_ms == 0


# The check.


def test_rest_readings_are_the_mean_of_the_second_second() -> None:
    bench = Bench(clock="12:01:01")
    bench.keeper.command(RUN, 0)
    bench.until("check")
    seen = []
    while bench.state == "check":
        in_state_ms = bench.keeper.in_state_ms + TICK_MS
        bench.raw = {"pressure": 430 + in_state_ms // 50, "battery": 2500 + in_state_ms // 100}
        bench.tick()
        if in_state_ms > 1000:
            seen.append((bench.q("pressure_pa"), bench.q("battery_mv")))
    (start,) = bench.records(START)
    means = tuple(sum(values) // len(seen) for values in zip(*seen, strict=True))
    assert (start["rest_pa"], start["rest_mv"]) == means


def test_a_rest_reading_that_stands_still_is_itself() -> None:
    bench = Bench(clock="12:01:01")
    bench.pressure_pa = 20000
    for _ in range(2):
        bench.keeper.command(RUN, 0)
        bench.until("prime")
        bench.keeper.command(STOP, 0)
        bench.ticks(30000)
    for start in bench.records(START):
        assert (start["rest_pa"], start["rest_mv"]) == (20000, 12600)


def swapped(raw_pressure: int, **settings: int) -> int:
    """What the check makes of a battery reading like a transducer's, and this pressure count."""
    bench = Bench(without=("swapped", "bad battery"), **settings)
    return int(bench.keeper.senses.are_swapped(False, 410, raw_pressure))


@pytest.mark.parametrize(
    ("raw", "full_mv", "verdict"),
    [
        # 9000, 9001, 15999 and 16000 mV, were it the battery.
        (1800, 20480, 0),
        (1999, 18444, 1),
        (3276, 20004, 1),
        (3200, 20480, 0),
    ],
)
def test_a_pressure_that_reads_like_a_battery(raw: int, full_mv: int, verdict: int) -> None:
    assert raw * full_mv >> 12 in (9000, 9001, 15999, 16000)
    assert swapped(raw, battery_full_mv=full_mv, battery_high_band_mv=17500) == verdict


def test_a_lost_battery_wire_is_not_taken_for_a_swap() -> None:
    bench = Bench()
    bench.raw = {"battery": 410}
    bench.keeper.command(RUN, 0)
    bench.until("done", 20)
    assert bench.said("bad battery")
    assert not bench.said("swapped")


# The clock.


def test_a_verdict_s_record_is_marked_by_it() -> None:
    bench = Bench()
    bench.sleep(120)
    bench.clock_ok = 0
    bench.sleep(120)
    bench.clock_ok, bench.clock_off_ms = 1, 3000
    bench.sleep(400)
    marks = [row[TRUST] for row in bench.log if row[KIND] == CLOCK]
    assert marks[-2:] == [0, 1]
    assert bench.records(CLOCK)[-1] == {"verdict": 0, "off_s": 0}, "compared from now on"


def test_a_verdict_just_after_new_settings_has_an_offset_to_show() -> None:
    bench = Bench()
    bench.sleep(120)
    bench.clock_ok = 0
    bench.apply(dry_hold_ms=7000)
    bench.sleep(120)
    assert bench.records(CLOCK)[-1] == {"verdict": 1, "off_s": 0}


@pytest.mark.parametrize("set_again", [False, True])
def test_a_day_without_a_clock_is_a_day(set_again: bool) -> None:
    watch = part(ClockWatch)
    if set_again:
        watch.look(0, 5, 0, 1)
        watch.look(3600000, 5, 3600, 1)
        watch.set_again()
    watch.look(DAY_MS - 1000, 0, 0, 0)
    assert watch.days_unknown == 0
    watch.look(1000, 0, 0, 0)
    assert watch.days_unknown == 1


# Parts by themselves.


def test_a_pump_without_current_has_no_time_left() -> None:
    assert part(Charge).seconds_left(0) == 0


def test_nothing_fitted_reads_nothing() -> None:
    bench = Bench(frost_fitted=0, pressure_fitted=0)
    bench.go("prime")
    assert bench.records(START)[-1]["frost_dc"] == bench.records(START)[-1]["rest_pa"] == 0


def test_a_board_without_settings_knows_no_night() -> None:
    assert Keeper(None).night == NEVER
    assert memory.save(Keeper(None)) == ""


def test_a_relay_begins_open() -> None:
    assert Relay(1000).level == 0


def plan_of(**settings: int) -> Plan:
    made: Plan = part(Plan, **{"set1_unit": 0, **settings})
    return made


def test_the_second_set_alone_is_found() -> None:
    plan = plan_of(set2_unit=1, set2_amount=20, set2_start_s=22 * 3600, set2_window_s=3600)
    at_s = 10 * 3600
    assert plan.next_start_s(at_s - 60) == 60
    assert plan.due(7, at_s) == 2
    assert plan.missed(7, at_s + 3601) == 2


def test_the_pumping_time_of_a_volume_is_rounded_down_to_the_second() -> None:
    plan = plan_of(set1_unit=3, set1_amount=27)
    # 27 L at 14 L/min: 115.7 s.
    assert plan.planned_s(SITE["flow_ml_min"]) == 115


def test_a_channel_is_stuck_at_its_time() -> None:
    channel = Channel(0, 4095, 1200, 5000, (0, 1, 1, 1, 0), 0)
    assert channel.read(700, 100, True) == GOOD
    assert channel.read(700, 4999, True) == GOOD
    assert channel.read(700, 1, True) == STUCK
    assert channel.read(701, 100, True) == GOOD
    assert channel.read(701, 4999, True) == GOOD


def test_after_a_nap_nothing_jumps() -> None:
    channel = Channel(0, 4095, 1200, 0, (0, 1, 1, 1, 0), 0)
    channel.read(700, 100, False)
    assert channel.read(2000, 100, False) == JUMP
    channel.forget()
    assert channel.read(700, 100, False) == GOOD
    assert channel.value == 700


def test_a_band_between_two_counts_ends_below() -> None:
    """17499 mV are 3499.8 counts."""
    senses = Senses(Settings({**SITE, "battery_high_band_mv": 17499}))
    assert senses.battery.high_count == 3499
