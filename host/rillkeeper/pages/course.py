"""The course of pressure, volts and charge over time, from a replay's trace or from the log."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.morning.report.report import DAY_S, Report
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.nights import Night
from rillsim.replay import Trace

Floats = NDArray[np.float64]

_NO_BATTERY_V = 1.0
_POINTS_MAX = 1500


@dataclass(frozen=True)
class Course:
    """Arrays of one length; not a number where nothing is known."""

    t_s: Floats
    """From the noon at which the report begins."""
    pressure_pa: Floats
    battery_v: Floats
    measured: bool
    """True: from the log, a mean a minute. False: from the plant of a replay."""

    def between(self, start_s: float, end_s: float) -> "Course":
        """The part between two moments, thinned out to what a picture can show."""
        inside = (self.t_s >= start_s) & (self.t_s <= end_s)
        step = max(1, int(inside.sum()) // _POINTS_MAX)
        return Course(
            self.t_s[inside][::step],
            self.pressure_pa[inside][::step],
            self.battery_v[inside][::step],
            self.measured,
        )


def course_of(report: Report) -> Course:
    """Pressure and volts over the whole report."""
    trace = report.trace
    if trace is not None:
        return _of_trace(trace)
    rows = [row for night in report.nights for row in _night_rows(night, report.start_day)]
    columns = np.array(rows, dtype=np.float64).reshape(-1, 3).T
    return Course(columns[0], columns[1], columns[2], measured=True)


def _of_trace(trace: Trace) -> Course:
    """The trace, with the rest before each start drawn up to the start.

    At rest its points are ten minutes apart, and the next already sags under the pump.
    """
    volts = np.where(trace.battery_v > _NO_BATTERY_V, trace.battery_v, np.nan)
    starts = np.flatnonzero((trace.on[1:] > 0.0) & (trace.on[:-1] == 0.0)) + 1
    return Course(
        np.insert(trace.t_s, starts, trace.t_s[starts]),
        np.insert(trace.pressure_pa, starts, trace.pressure_pa[starts]),
        np.insert(volts, starts, volts[starts - 1]),
        measured=False,
    )


def charge_of(report: Report) -> tuple[Floats, Floats]:
    """What the board counted as left in the battery: moments [s] and charge [Ah]."""
    rows = [
        (moment_s(entry, report.start_day), entry["left_mah"] / 1000)
        for entry in report.log.entries
        if "left_mah" in entry.numbers and (entry.trusted or entry.kind == "battery")
    ]
    columns = np.array(rows, dtype=np.float64).reshape(-1, 2).T
    return columns[0], columns[1]


def moment_s(entry: Entry, start_day: int) -> float:
    """When a record was written, in seconds from the noon at which the report begins."""
    return (entry.night - start_day) * DAY_S + entry.since_noon_s


def run_spans(night: Night, start_day: int) -> list[tuple[float, float]]:
    """Start and end of each run of a night."""
    spans = []
    for run in night.runs:
        start_s = moment_s(run.start, start_day)
        spans.append((start_s, start_s + max(run.run_s, 1)))
    return spans


def _night_rows(night: Night, start_day: int) -> list[tuple[float, float, float]]:
    """Points of a night; a minute's mean stands at its middle, and a break between runs."""
    rows: list[tuple[float, float, float]] = []
    for run in night.runs:
        start_s = moment_s(run.start, start_day)
        rows.append((start_s, 0.0, run.start["rest_mv"] / 1000))
        looks = [run.primed] if run.primed else []
        for look in looks:
            rows.append(_row(look, start_day, 0.0))
        rows += [_row(minute.entry, start_day, -30.0) for minute in run.minutes]
        if run.stop:
            rows.append(_row(run.stop.entry, start_day, 0.0))
            end_s = moment_s(run.stop.entry, start_day)
            rows.append((end_s + 15.0, 0.0, np.nan))
        rows.append((rows[-1][0] + 1.0, np.nan, np.nan))
    return rows


def _row(look: Entry, start_day: int, shift_s: float) -> tuple[float, float, float]:
    at_s = moment_s(look, start_day) + shift_s
    return at_s, float(look["pressure_pa"]), look["battery_mv"] / 1000
