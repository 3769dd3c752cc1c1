"""Evidence out of a run log: every piece where it belongs, and nothing where there is none."""

from dataclasses import replace

from keeper.records import CAUSE_RULE
from keeper.rules import number_of
from rillkeeper.inquiry.why.attempts import FINE, METER, attempts_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillsim.site import BoardSpec
from tests.host.morning.sample_week import demo_week
from tests.host.runlog.sample_log import Writer


def evidence(lines: list[str] | None = None, board: BoardSpec | None = None) -> NightLog:
    return nights_of(read_log(list(demo_week().log) if lines is None else lines), board).acted


def test_the_demonstration_week() -> None:
    found = evidence()
    assert [len(night.runs) for night in found.nights] == [2, 2, 2, 0, 2, 2, 1]
    first = found.runs[0]
    assert first.rested
    assert first.pause_s is None
    assert first.prime_ms is not None
    assert first.learned is not None
    assert first.stop is not None
    assert first.stop.cause == "complete"
    assert [look.after_ms // 100 for look in first.decay][:3] == [5, 10, 20]
    assert [minute.since_s for minute in first.minutes] == sorted(
        minute.since_s for minute in first.minutes
    )


def test_trips_tries_and_batteries() -> None:
    found = evidence()
    shut, again = found.nights[1].runs
    assert shut.rules == ("dead head",)
    assert not shut.again
    assert again.again
    assert again.prime_ms is None
    assert found.nights[3].skips == ("rain",)
    assert [night.battery_put_on for night in found.nights] == [
        False, False, False, False, True, False, False,
    ]  # fmt: skip
    assert {run.battery for run in found.runs} == {1, 2}


def test_what_is_not_fitted_reads_nothing() -> None:
    """A channel without a sensor is written as 0, which is no reading of nothing."""
    found = evidence(board=replace(BoardSpec(), pressure_fitted=False, frost_fitted=False))
    for run in found.runs:
        assert run.rest_pa is None
        assert run.prime_ms is None
        assert run.air_c is None
        assert all(minute.pressure_pa is None for minute in run.minutes)
        assert all(look.pressure_pa is None for look in run.decay)
        assert run.rest_mv is not None


def test_a_log_cut_short_has_a_run_without_an_end() -> None:
    lines = list(demo_week().log)
    cut = next(place for place, line in enumerate(lines) if " minute " in line) + 3
    (run,) = evidence(lines[:cut]).runs
    assert run.stop is None
    assert run.decay == ()
    assert len(run.minutes) == 3


def metered(*warned: str) -> tuple[str | None, ...]:
    """A night of a board with a flow meter that stopped once for want of pulses, and ran again."""
    log = Writer()
    log.add("0 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("0 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
    log.add("0 22:00:04", "primed", 2000, 150000, 12000)
    log.add("0 22:00:09", "trip", number_of("no flow"), 5100, 5000, 0, 4, 1)
    log.add("0 22:00:09", "stop", CAUSE_RULE + number_of("no flow"), 7, 150000, 11980, 30, 0)
    log.add("0 22:05:11", "start", 1, 1, 12600, 29900, 150, 10000)
    log.add("0 22:05:13", "primed", 2000, 150000, 12000)
    for rule in warned:
        log.add("0 22:05:19", "warn", number_of(rule), 1, 0)
    log.add("0 22:25:13", "stop", 0, 1202, 150000, 11980, 4000, 320000)
    return attempts_of(evidence(log.lines)).outcomes


def test_no_water_past_a_flow_meter_is_how_a_run_ended() -> None:
    assert metered() == ("no flow", FINE)


def test_a_flow_meter_that_stands_still_is_how_it_ended_not_want_of_water() -> None:
    """The board itself has found that it was the meter."""
    assert metered("bad meter") == (METER, FINE)


def test_nothing() -> None:
    assert evidence([]).nights == ()
    assert evidence([]).first_night is None
