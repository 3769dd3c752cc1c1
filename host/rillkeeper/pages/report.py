"""The report page: a week at a glance, and each night and event behind it."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from rillkeeper.board.proof import record_page
from rillkeeper.board.proof.records import Proof
from rillkeeper.display_units import Shown, clock_text, counted, day_text, long_day_text
from rillkeeper.morning.coming.plan import Coming
from rillkeeper.morning.nights_left import each_morning
from rillkeeper.morning.report.beside_plant import beside_plant
from rillkeeper.morning.report.litres import METER
from rillkeeper.morning.report.report import Report, minutes_of
from rillkeeper.morning.report.spans import NightSpan, event_spans, lockout_of, night_spans
from rillkeeper.morning.report.terminal import BESIDE, DRIEST, columns
from rillkeeper.morning.report.troubles import troubles_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.morning.weather import Balance
from rillkeeper.pages import template
from rillkeeper.pages.coming import part_of
from rillkeeper.pages.course import Course, course_of
from rillkeeper.pages.nights_strip import KEY, nights_strip
from rillkeeper.pages.pictures import Picture, on_both
from rillkeeper.pages.plan import Spread, applied_plan, plan_by_night, spread_of
from rillkeeper.pages.report_pictures import balance_chart, night_chart, week_chart
from rillkeeper.runlog import sentences
from rillkeeper.runlog.nights import Night

_TOLD = ("set", "start", "primed", "stop", "given")
"""Routine records that belong to the story of a night; the others are in the pictures."""


def write(
    report: Report,
    path: Path,
    proofs: Sequence[Proof] = (),
    coming: Coming | None = None,
) -> None:
    """Write the page to a file."""
    template.save(html_of(report, proofs, coming), path)


def html_of(report: Report, proofs: Sequence[Proof] = (), coming: Coming | None = None) -> str:
    """The page as text; the same report gives the same text."""
    source = "replayed against a model of pump, battery and garden"
    if report.trace is None:
        source = "from the board's run log"
    spread = spread_of(report)
    course = course_of(report)
    balance = None if report.truth else report.balance
    blind = report.trace is None and report.balance is None
    spans = night_spans(report)
    return template.render(
        "report",
        title=f"{report.name}: {report.dates}",
        heading=report.name,
        kicker=f"{counted(len(report.nights), 'night')}, {report.dates}, {source}",
        lockout=lockout_of(report),
        verdict=verdict_of(report),
        troubles=troubles_of(report),
        replayed=bool(report.truth),
        strip=on_both(lambda width_in: nights_strip(report, width_in)) if spans else None,
        strip_key=KEY,
        week=_week(report) if spans else None,
        week_title=_week_title(len(report.nights)),
        week_note=" Soil water is not in a log." if blind else "",
        columns=columns(report),
        nights=[_night_row(report, span) for span in spans],
        table_note=_table_note(report, len(spans) < len(report.nights)),
        reckons="measures" if report.litres_by == METER else "reckons",
        coming=part_of(coming) if coming else None,
        balance=_balance(report, balance),
        balance_notes=balance.notes if balance else (),
        by_night=on_both(lambda width_in: plan_by_night(report, width_in)) if spread else None,
        plan=applied_plan(report, spread) if spread else None,
        plan_facts=_plan_facts(spread, report.shown) if spread else (),
        measured=course.measured,
        panels=[_panel(report, span, course) for span in spans],
        events=event_spans(report.events),
        beside_heading=BESIDE,
        beside=beside_plant(report),
        faults=[
            (str(one.spec.night), one.spec.name, one.sentence, "yes" if one.felt else "no")
            for one in report.faults
        ],
        proofs=[_proof(proof) for proof in proofs],
        data_notes=list(_data_notes(report)),
    )


def _week(report: Report) -> Picture:
    mornings = each_morning(report.nights, report.site, report.settings)
    return on_both(lambda width_in: week_chart(report, mornings, width_in))


def _week_title(nights: int) -> str:
    """What the traces are of."""
    return {1: "The night at a glance", 7: "The week at a glance"}.get(
        nights, f"The {nights} nights at a glance"
    )


def _table_note(report: Report, folded: bool) -> str:
    note = (
        "Outlet and Loaded: pressure at the pump, and the lowest voltage while it ran. Nights "
        "left: as the board counts them."
    )
    if folded:
        note += " Nights alike are put together, with the figures of the last."
    return f"{note} {DRIEST}" if report.truth or report.balance else note


def _balance(report: Report, balance: Balance | None) -> Picture | None:
    if not balance or not report.nights:
        return None
    return on_both(lambda width_in: balance_chart(report, balance, width_in))


def _night_row(report: Report, span: NightSpan) -> dict[str, object]:
    """A row of the table of nights, with the same columns as in the terminal."""
    level = max((event.told.level for event in report.events_of(span.first)), default=0)
    return {
        "stopped": level == sentences.STOP,
        "day": span.days,
        "planned": report.planned_short(span.last) or "-",
        "cells": [column.cell(span.last) for column in columns(report)],
        "happened": report.happened(span.last),
    }


def _plan_facts(spread: Spread, shown: Shown) -> list[tuple[str, str]]:
    return [
        ("Mean depth, all nights", shown.text(spread.mean_mm * 1e-3, "water depth")),
        ("Driest quarter of the plot", shown.text(spread.driest_mm * 1e-3, "water depth")),
        ("Needed of the sprinkler", shown.text(spread.needed_mm * 1e-3, "water depth")),
        ("Plot that got what it needed", f"{100 * spread.fed:.0f} %"),
        ("Crop's share of its need, driest quarter", f"{100 * spread.crop_got:.0f} %"),
        ("Uniformity CU (Christiansen)", f"{spread.cu:.0f} %"),
        ("Uniformity DU (driest quarter)", f"{spread.du:.0f} %"),
        ("Plot that got half the mean or more", f"{100 * spread.covered:.0f} %"),
        ("Water that came down on the plot", f"{100 * spread.landed:.0f} %"),
        ("Ran off the plot", shown.text(spread.runoff_mm * 1e-3, "water depth")),
        ("Drained below the roots", shown.text(spread.drained_mm * 1e-3, "water depth")),
        ("Throw in still air", shown.text(spread.throw_m, "length")),
    ]


def _panel(report: Report, span: NightSpan, course: Course) -> dict[str, object]:
    """A night: what was asked for, how it went, and the picture of the runs."""
    night = span.first
    no_picture = "The pump did not run, so there is nothing to draw."
    if night.run_s is None:
        no_picture = "The log has no records of this night."
    summary = f"Asked for {report.planned(night)}; " if report.planned(night) else ""
    if night.runs:
        litres = report.shown.text((night.given_ml or 0) * 1e-6, "volume")
        summary += f"ran {minutes_of(night)} min and gave {litres}; "
    place = night.day - report.start_day + 1
    title = f"Night {place}: {long_day_text(night.day)}"
    if span.last is not night:
        title = f"Nights {place} to {span.last.day - report.start_day + 1}: {span.days}"
    return {
        "title": title,
        "summary": f"{summary}{report.happened(night)}.",
        "picture": night_chart(report, night, course),
        "no_picture": no_picture,
        "steps": list(_steps(report, night)) if span.last is night else [],
    }


def _steps(report: Report, night: Night) -> Iterator[dict[str, object]]:
    """The story of the night, its events with the numbers that the pictures have."""
    numbered = {id(event.entry): event for event in report.events_of(night)}
    for entry in report.log.entries:
        event = numbered.get(id(entry))
        if entry.night != night.day or not (event or entry.kind in _TOLD):
            continue
        told = event.told if event else sentences.tell(entry, report.shown, report.fitted)
        yield {"at": clock_text(entry.second), "event": event, "seen": told.seen}


def _proof(proof: Proof) -> dict[str, object]:
    """When and on what, how many rules came through, and which did not."""
    return {
        "headline": record_page.headline(proof),
        "numbers": record_page.numbers_of(proof),
        "summary": record_page.summary(proof),
        "not_passed": [record_page.line_of(one) for one in record_page.not_passed(proof)],
    }


def _data_notes(report: Report) -> Iterator[str]:
    """Whether the log is whole, and what it lacks."""
    log = report.log
    text = f"{counted(len(log.entries), 'record')} read."
    if log.whole:
        text += " None is missing and none is damaged."
    if log.duplicates:
        text += f" {counted(log.duplicates, 'line')} came twice and counted once."
    yield text
    yield from report.notes
    yield from report.other_site
    yield from (gap.sentence for gap in log.gaps)
    if log.damages:
        lines = ", ".join(f"{damage.line} ({damage.reason})" for damage in log.damages)
        yield f"Lines that could not be read: {lines}."
    silent = [day_text(night.day) for night in report.nights if night.run_s is None]
    if silent:
        yield f"Nights without a record: {', '.join(silent)}."
    if not report.truth:
        lacking = "Where the water fell"
        lacking += "" if report.balance else ", and what the soil lacks,"
        yield (
            f"{lacking} is not known: a log tells what left the pump, not what reached the roots."
        )
