"""One panel a night: what was asked for, how it went, and the picture of the runs."""

from html import escape

from rillkeeper.display_units import clock_text, long_day_text
from rillkeeper.morning.report.report import Report, minutes_of
from rillkeeper.pages.frame import figure, mark
from rillkeeper.pages.report.course import Course
from rillkeeper.pages.report.night_chart import night_chart
from rillkeeper.runlog import sentences
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.nights import Night

_TOLD = ("set", "start", "primed", "stop", "given")
"""Routine records that belong to the story of a night; the others are in the pictures."""


def night_panel(report: Report, night: Night, course: Course) -> str:
    """The panel as HTML."""
    number = night.day - report.start_day + 1
    svg = night_chart(report, night, course)
    shown = figure(svg) if svg else f'<p class="empty">{escape(_why_none(report, night))}</p>'
    happened = report.happened(night)
    return (
        f'<article class="night">\n<header><h3>Night {number}: {long_day_text(night.day)}</h3>'
        f"<p>{escape(_summary(report, night))}{escape(happened)}.</p></header>\n"
        f"{shown}\n{_steps(report, night)}\n</article>"
    )


def _summary(report: Report, night: Night) -> str:
    planned = report.planned(night)
    asked = f"Asked for {planned}; " if planned else ""
    if not night.runs:
        return asked
    litres = report.shown.text((night.given_ml or 0) * 1e-6, "volume")
    return f"{asked}ran {minutes_of(night)} min and gave {litres}; "


def _why_none(report: Report, night: Night) -> str:
    if night.run_s is None:
        return "The log has no records of this night."
    return "The pump did not run, so there is nothing to draw."


def _steps(report: Report, night: Night) -> str:
    """The story of the night, its events with the numbers that the pictures have."""
    numbered = {id(event.entry): event for event in report.events_of(night)}
    lines = []
    for entry in report.log.entries:
        if entry.night != night.day:
            continue
        told = sentences.tell(entry, report.shown)
        event = numbered.get(id(entry))
        if event:
            lines.append(_line(entry, f"{mark(event.number, event.told.level)} ", event.told))
        elif entry.kind in _TOLD:
            lines.append(_line(entry, "", told))
    return f'<ul class="steps">{"".join(lines)}</ul>' if lines else ""


def _line(entry: Entry, before: str, told: sentences.Told) -> str:
    at = clock_text(entry.second)
    return f"<li><time>{at}</time><span>{before}{escape(told.seen)}</span></li>"
