"""Evidence out of a run log: every piece where it belongs, and nothing where there is none."""

from dataclasses import replace

from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillsim.site import BoardSpec
from tests.host.morning.sample_week import demo_week


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


def test_nothing() -> None:
    assert evidence([]).nights == ()
    assert evidence([]).first_night is None
