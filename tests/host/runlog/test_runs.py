"""Runs out of a log: whose record is whose, and that every reader is told of the same runs."""

from collections.abc import Callable

import pytest

from rillkeeper.inquiry.why.attempts import CUT, FINE, attempts_of
from rillkeeper.morning.nights_left import predict
from rillkeeper.morning.report.report import report_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillkeeper.runlog.runs import Run
from rillkeeper.site.file import demo_site
from tests.host.runlog.sample_log import Writer, minutes, sample

LINE_OPEN = 4
"""Of the board's rules."""


def two_nights(*lost: str) -> NightLog:
    """A whole night, and one that a check refused; ``lost`` are kinds of which none came over."""
    log = Writer()
    log.add("0 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("0 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
    log.add("0 22:00:04", "primed", 2000, 150000, 12000)
    minutes(log, 0, 1, 20, 150000, 12000)
    log.add("0 22:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000)
    log.add("0 22:20:04", "given", 1, 0, 1200, 320000, 3200)
    log.add("0 22:20:05", "decay", 1000, 20000, 12500)
    log.add("1 12:00:00", "night", 1202, 320000, 4100, 25900, 58, 12550)
    log.add("1 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("1 22:00:01", "trip", LINE_OPEN, 9000, 11000, 600, 3, 0)
    return nights_of(read_log(line for line in log.lines if line.split()[4] not in lost))


@pytest.mark.parametrize(
    ("lost", "ended"),
    [((), FINE), (("stop",), CUT), (("stop", "given"), CUT), (("stop", "given", "night"), CUT)],
)
def test_a_refusal_is_never_a_trip_of_the_night_before(lost: tuple[str, ...], ended: str) -> None:
    """Where the end of a run is missing, what comes after is not its own."""
    log = two_nights(*lost)
    (run,) = log.runs
    assert run.trips == ()
    assert [len(night.trips) for night in log.nights] == [0, 1]
    assert attempts_of(log).outcomes == (ended, "line open")


def test_the_decay_comes_after_the_end_of_the_set() -> None:
    (run,) = two_nights().runs
    assert [look.after_ms for look in run.decay] == [1000]


def test_a_run_over_noon_is_one_run() -> None:
    log = Writer()
    log.add("1 11:59:00", "start", 0, 1, 12640, 30000, 150, 10000)
    log.add("1 11:59:02", "primed", 2000, 150000, 12000)
    log.add("1 12:00:00", "night", 0, 0, 100, 30000, 58, 12550)
    log.add("1 12:00:30", "minute", 150000, 12000, 12000, 16000, 29900)
    log.add("1 12:01:00", "stop", 1, 118, 150000, 11980, 400, 32000)
    (run,) = nights_of(read_log(log.lines)).runs
    assert run.stop is not None
    assert (run.night, run.run_s, len(run.minutes)) == (run.start.night, 118, 1)


def test_report_why_and_nights_left_see_the_same_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """One model: the runs that nights left follows are those of the report and of why."""
    followed: list[Run] = []
    choose: Callable[..., list[Run]] = predict._this_charge

    def listen(runs: list[Run], *rest: object) -> list[Run]:
        followed[:] = runs
        return choose(runs, *rest)

    monkeypatch.setattr(predict, "_this_charge", listen)
    lines = sample().lines
    site = demo_site()
    shown = report_of(lines, site)
    of_report = [run for night in shown.nights for run in night.runs]
    of_why = nights_of(read_log(lines), site.board).acted
    assert len(followed) == lines_of_kind(lines, "start") > 1
    assert followed == of_report == list(of_why.runs)
    assert [run for run in attempts_of(of_why).runs if run is not None] == of_report


def lines_of_kind(lines: list[str], kind: str) -> int:
    return sum(line.split()[4] == kind for line in lines)
