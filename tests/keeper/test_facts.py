"""Every fact against every event, driven through a keeper as a board does it."""

from collections.abc import Callable
from typing import Any

import pytest

from keeper import Keeper, facts, memory
from keeper.clockwatch import APART, GOOD
from keeper.facts import (
    CLOCK_NOT_SET,
    COUNTS,
    EACH,
    FACTS,
    GAP_MS_MAX,
    HOUR_MS,
    NAME,
    NEVER,
    START,
)
from keeper.hand import BATTERY, CLEAR, CLOCK, RELEARN
from keeper.records import BOOT, CAUSE_RULE, NIGHT, NORMAL, RAIN, SET
from keeper.rules import DRY_RUN, NO_CLOCK, number_of

from .bench import DAY0, NOON_S, SITE, Bench

MS = 5000
"""What passes by itself while an event is driven: less than this."""
NEAR = {"ms": MS, "mA ms": 20 * MS}

# Of each fact a value that it does not begin with.
KNOWN: dict[str, int] = {
    "night": DAY0 - 1,
    "told_night": DAY0 - 2,
    "hold_until_night": DAY0 + 2,
    "held_off_ms": 2 * HOUR_MS,
    "stop_cause": 2,
    "stop_set": 1,
    "stop_day": DAY0 - 1,
    "stop_second": 80000,
    "night_over": 1,
    "done_night": DAY0 - 1,
    "begun_night": DAY0 - 1,
    "given_s": 61,
    "given_ml": 14000,
    "night_run_s": 1800,
    "night_ml": 420000,
    "used_mah": 1200,
    "left_mah": 20000,
    "rest_over_mv": -147,
    "worked": 1,
    "begun_mv": 12590,
    "begun_mah": 44000,
    "since_mah": 24000,
    "room_mv": 250,
    "reads_low_mv": -20,
    "part_ma_ms": 1000000,
    "night_use_mah": 3000,
    "resistance_mohm": 77,
    "judged": 1,
    "base_pa": 201000,
    "base_nights": 2,
    "tonight_pa": 199000,
    "drift_permille": 12,
    "dry_run_ms": 30000,
    "heat_ms": 500000,
    "starts": COUNTS["start"],
    "start_ages_ms": HOUR_MS // 2,
    "run_open": 1,
    "broken_runs": 1,
    "stuck_relay": 2,
    "proved_day": DAY0 - 1,
    "off_ms": 2 * HOUR_MS,
    "rain_closed": 1,
    "rain_said": 1,
    "rain_records": 2,
    "wet_ms": 600000,
    "dry_ms": 0,
    "clock_bad": APART,
    "tries": 1,
    "said": 1,
}
DRY = {"rain_closed": 0, "rain_said": 0, "wet_ms": 0, "dry_ms": HOUR_MS}


def knowing(weather: str, clock_bad: int) -> Bench:
    """A board, a moment before noon, that has something to say of every fact."""
    bench = Bench(clock="11:59:59")
    bench.rest_mv = 12400
    bench.rain = 1 if weather == "rain" else 0
    known = {**KNOWN, **({} if bench.rain else DRY), "clock_bad": clock_bad}
    for name, each, value in ((row[NAME], row[EACH], known[row[NAME]]) for row in FACTS):
        if each:
            values = getattr(bench.keeper.facts, name)
            values[:] = [value] * len(values)
        else:
            setattr(bench.keeper.facts, name, value)
    bench.log.clear()
    return bench


def asked(wish: int) -> Callable[[Bench], None]:
    def drive(bench: Bench) -> None:
        bench.keeper.command(wish, 0)
        bench.tick()

    return drive


def noon(bench: Bench) -> None:
    bench.until(lambda: len(bench.records(NIGHT)) == 1, 3)
    assert bench.at_ms % 86400000 // 1000 - NOON_S in (0, 1)


LINE = {"normal_pa": 150000}
# What happens, and the words of the table that say what it ends.
SAID_AGAIN = (NO_CLOCK, number_of("runs broken off"))

EVENTS: dict[str, tuple[Callable[[Bench], None], str]] = {
    "power": (lambda bench: bench.reboot(away_ms=100), "power"),
    "settings": (lambda bench: bench.apply(starts_max=9), "settings"),
    "settings of another line": (lambda bench: bench.apply(**LINE), "settings line"),
    "settings of another nozzle": (lambda bench: bench.apply(flow_ml_min=9000), "settings line"),
    "trial": (lambda bench: bench.apply(trial=True, **LINE), "settings"),
    "end of trial": (lambda bench: bench.apply(trial=True), "settings"),
    "relearn": (asked(RELEARN), "line"),
    "noon": (noon, "noon"),
    "battery": (asked(BATTERY), "battery"),
    "clear": (asked(CLEAR), "person"),
    "clock set": (asked(CLOCK), "clock"),
    "time": (lambda bench: bench.ticks(500), ""),
}

# What a fact is after an event that its row does not tell, since it is read or judged at once.
ANEW: dict[tuple[str, str], int] = {
    ("noon", "night"): DAY0,
    ("noon", "told_night"): DAY0 - 1,
    ("noon", "night_use_mah"): 3000 + (1200 - 3000) // 4,
    ("power", "judged"): 1,
    ("power", "start_ages_ms"): 0,
    ("power", "run_open"): 0,
    ("power", "broken_runs"): 2,
    # The second in a row stops the board.
    ("power", "stop_cause"): CAUSE_RULE + number_of("runs broken off"),
    ("power", "stop_set"): NEVER,
    ("power", "stop_day"): DAY0,
    ("power", "stop_second"): NOON_S - 1,
    ("power", "clock_bad"): GOOD,
    ("clock set", "clock_bad"): GOOD,
    ("battery", "left_mah"): SITE["capacity_mah"],
    ("battery", "rest_over_mv"): 12400 - SITE["charged_mv"],
}


def is_let_go(row: tuple[Any, ...], ends: str) -> bool:
    return any(
        (word in ("power", "settings") and row[getattr(facts, word.upper())] == "lost")
        or word in row[facts.ENDED_BY].split()
        for word in ends.split()
    )


@pytest.mark.parametrize("weather", ["rain", "dry"])
@pytest.mark.parametrize("event", EVENTS)
def test_what_an_event_lets_go_and_what_it_leaves(event: str, weather: str) -> None:
    # With a clock that is not believed no noon comes.
    bench = knowing(weather, GOOD if event in ("noon", "time") else APART)
    drive, ends = EVENTS[event]
    before = {row[NAME]: values_of(bench, row) for row in FACTS}
    drive(bench)
    # The run that was open is the second in a row that the power broke off.
    assert bench.state == ("lockout" if event == "power" else "idle")
    for row in FACTS:
        name = row[NAME]
        start = row[START] if isinstance(row[START], int) else getattr(bench.settings, row[START])
        if (event, name) in ANEW:
            expected = [ANEW[event, name]] * len(before[name])
        elif event == "power" and name == "rain_closed" and weather == "rain":
            expected = [1]  # It is felt at the first look; whether that is rain, a minute later.
        else:
            expected = [start] * len(before[name]) if is_let_go(row, ends) else before[name]
        near = NEAR.get(row[facts.UNIT], 0)
        assert values_of(bench, row) == pytest.approx(expected, abs=near), name


def values_of(bench: Bench, row: tuple[Any, ...]) -> list[int]:
    """Without what is said again at once: a bad clock, and runs that the power broke off."""
    value = getattr(bench.keeper.facts, row[NAME])
    if row[NAME] == "said":
        value = [said for rule, said in enumerate(value) if rule not in SAID_AGAIN]
    return list(value) if row[EACH] else [value]


def test_every_fact_is_tried_with_another_value_than_it_begins_with() -> None:
    assert list(KNOWN) == [row[NAME] for row in FACTS]
    started = [row[NAME] for row in FACTS if KNOWN[row[NAME]] == row[START]]
    assert not started
    assert {**KNOWN, **DRY}["dry_ms"] != GAP_MS_MAX
    assert CLOCK_NOT_SET not in (APART, GOOD)


def test_the_rows_that_a_finding_asked_for() -> None:
    """Said here once more, so that no slip of the table is its own witness."""
    rows = {row[NAME]: row for row in FACTS}
    for name in ("dry_ms", "wet_ms", "resistance_mohm"):
        assert rows[name][facts.SETTINGS] == "kept", "K23: rain and supply outlive new settings"
    for name in ("base_pa", "base_nights", "tonight_pa"):
        assert "line" in rows[name][facts.ENDED_BY].split(), "K18: another line is learned anew"
    assert rows["tries"][facts.POWER] == "kept", "pulling the battery gives no more tries"
    assert rows["held_off_ms"][facts.POWER] == "kept", "K13: a proof holds sets off"


def test_a_restart_and_new_settings_are_told_apart() -> None:
    bench = knowing("rain", GOOD)
    bench.apply(starts_max=9)
    assert not bench.records(BOOT)
    assert not bench.records(RAIN)
    bench.reboot()
    assert len(bench.records(BOOT)) == 1


def test_a_start_in_the_hour_takes_the_place_of_the_oldest() -> None:
    bench = knowing("dry", GOOD)
    ages_ms = bench.keeper.facts.start_ages_ms
    ages_ms[7] += 1000
    bench.keeper.relaywatch.started()
    assert ages_ms[7] == 0
    assert sum(ages_ms) == (len(ages_ms) - 1) * HOUR_MS // 2


# A proof holds sets off, whatever becomes of the power (K13).


def test_no_set_starts_while_a_proof_goes_on() -> None:
    bench = Bench(clock="21:50:00", set1_window_s=4 * 3600)
    bench.keeper.hold_off(3 * HOUR_MS)
    bench.sleep(900)
    bench.reboot()
    bench.sleep(2 * 3600)
    assert not bench.records(SET)
    assert 0 < bench.keeper.facts.held_off_ms < HOUR_MS
    bench.sleep(3600)
    assert bench.records(SET), "it is over by itself in the end"


def test_a_proof_that_is_over_holds_nothing_off() -> None:
    bench = Bench(clock="21:50:00")
    bench.keeper.hold_off(3 * HOUR_MS)
    bench.sleep(60)
    bench.keeper.hold_off(0)
    bench.sleep(900)
    assert bench.records(SET)
    Keeper(None).hold_off(1)


# One night, one record (K25).


def test_a_clock_set_back_over_noon_tells_a_night_once() -> None:
    bench = Bench(clock="11:50:00")
    bench.sleep(900)
    assert len(bench.records(NIGHT)) == 1
    for _ in range(2):
        bench.clock_off_ms -= 20 * 60000
        bench.keeper.command(CLOCK, 0)
        bench.sleep(1500)
    assert len(bench.records(NIGHT)) == 1
    bench.sleep(86400)
    assert len(bench.records(NIGHT)) == 2


def test_what_is_given_between_two_noons_of_a_night_is_told() -> None:
    bench = Bench(clock="11:55:00")
    bench.sleep(400)
    bench.go("run")
    bench.until("idle")
    bench.clock_off_ms -= 20 * 60000
    bench.keeper.command(CLOCK, 0)
    bench.sleep(1500)
    told = bench.records(NIGHT)
    assert [record["run_s"] > 200 for record in told] == [False, True]


@pytest.mark.no_cover
def test_a_clock_that_was_a_year_ahead_does_not_silence_a_year() -> None:
    bench = Bench(clock="11:00:00")
    bench.clock_off_ms = 366 * 86400000
    bench.keeper.command(CLOCK, 0)
    bench.sleep(2 * 86400)
    bench.clock_off_ms = 0
    bench.keeper.command(CLOCK, 0)
    bench.sleep(60)
    seen = len(bench.records(NIGHT))
    bench.sleep(2 * 86400)
    assert len(bench.records(NIGHT)) == seen + 2, "each has had its set"


# What is normal (K18).


def test_relearn_in_the_middle_of_a_run_learns_from_there() -> None:
    bench = Bench(clock="21:59:00", set1_amount=20)
    bench.until("run")
    bench.ticks(300000)
    assert bench.records(NORMAL)[-1]["base_pa"] == pytest.approx(200000, abs=500)
    bench.water_pa = 120000
    bench.keeper.command(RELEARN, 0)
    bench.ticks(70000)
    assert bench.state == "run", "no open line"
    assert bench.records(NORMAL)[-1]["base_pa"] == pytest.approx(120000, abs=4000)


def test_noon_in_the_middle_of_a_run_learns_no_wrong_pressure() -> None:
    """Tonight's pressure ends at noon; a whole half minute makes another."""
    bench = Bench(clock="11:50:00", set1_start_s=11 * 3600 + 51 * 60, set1_amount=20)
    bench.reboot()
    bench.until("run", 700)
    bench.ticks(500000)
    bench.until(lambda: len(bench.records(NORMAL)) == 2, 300)
    assert bench.records(NORMAL)[-1]["pressure_pa"] == pytest.approx(200000, abs=500)


@pytest.mark.no_cover
def test_memory_stays_small() -> None:
    """Up to 512 bytes a file of littlefs needs no block of its own (inline, an eighth of 4 KiB):
    a save then erases no more than it did when memory was a row of numbers."""
    bench = Bench(clock="21:59:00")
    bench.sleep(4 * 3600)
    assert len(memory.save(bench.keeper)) < 400
    bench.sleep(3 * 24 * 3600)
    assert len(memory.save(bench.keeper)) < 450
    bench = knowing("dry", GOOD)
    bench.keeper.facts.tries[:] = [0] * len(bench.keeper.facts.tries)
    bench.keeper.facts.tries[DRY_RUN] = 3
    # All that can be known at once, which no night does: a block more is then erased.
    assert len(memory.save(bench.keeper)) < 600


def test_what_status_shows_is_what_the_table_says() -> None:
    bench = knowing("dry", APART)
    shown = dict(bench.keeper.facts.shown())
    assert list(shown) == [row[NAME] for row in FACTS if row[facts.SHOWN]]
    assert (shown["resistance_mohm"], shown["clock_bad"]) == (77, APART)
    assert not any(row[EACH] for row in FACTS if row[facts.SHOWN])
    assert (bench.keeper.night, Keeper(None).night) == (DAY0 - 1, -1)


def test_no_fact_without_a_row() -> None:
    with pytest.raises(AttributeError, match="no such fact: mood"):
        _ = Bench().keeper.facts.mood
