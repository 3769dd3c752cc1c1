"""The whole page, part by part."""

from pathlib import Path

from rillkeeper.board.proof.records import Proof
from rillkeeper.display_units import Shown
from rillkeeper.morning.report.report import Report
from rillkeeper.pages import frame
from rillkeeper.pages.report import listings
from rillkeeper.pages.report.balance_chart import balance_chart
from rillkeeper.pages.report.course import course_of
from rillkeeper.pages.report.night_panel import night_panel
from rillkeeper.pages.report.opening import opening
from rillkeeper.pages.report.plan_view import Spread, plan_view, spread_of
from rillkeeper.pages.report.proved import proved
from rillkeeper.pages.report.week_chart import week_chart


def write(report: Report, path: Path, proof: Proof | None = None) -> None:
    """Write the page to a file."""
    path.write_text(html_of(report, proof), encoding="utf-8", newline="\n")


def html_of(report: Report, proof: Proof | None = None) -> str:
    """The page as text; the same report gives the same text."""
    parts = [opening(report)]
    if report.nights:
        nights = frame.section("The nights", listings.nights_table(report), kind="keep")
        parts += [_week(report), nights, _balance(report)]
    parts.append(_plot(report))
    if report.nights:
        parts.append(_panels(report))
    parts.append(frame.section("Events", listings.events_list(report)))
    if report.faults:
        hint = "Put in its way on purpose, to see what the board makes of it."
        faults = listings.faults_list(report)
        parts.append(
            frame.section("What this replay met with", frame.paragraph(hint, "hint"), faults)
        )
    parts += [proved(proof)] if proof else []
    parts.append(frame.section("How complete the data are", listings.data_notes(report)))
    parts.append(listings.cautions())
    return frame.document(f"{report.name}: {report.dates}", parts)


def _week(report: Report) -> str:
    caption = (
        "Numbers are the events listed below: a filled square is a stop, a heavy rim a warning."
    )
    if report.trace is None:
        caption += "" if report.balance else " Soil water is not in a log."
    return frame.section("The week at a glance", frame.figure(week_chart(report), caption))


def _balance(report: Report) -> str:
    """Water given against water used; a replay has it in the week's own picture."""
    if report.truth:
        return ""
    title = "Water given against water used"
    if report.balance is None:
        return frame.section(title, frame.paragraph(listings.NO_WEATHER))
    caption = (
        "The weather of a date stands beside the night that begins on it. Given: as the board "
        "reckons it, its litres over the wetted ground. A question mark is not known."
    )
    notes = [frame.paragraph(note, "hint") for note in report.balance.notes]
    svg = balance_chart(report, report.balance)
    return frame.section(title, frame.figure(svg, caption), *notes, kind="keep")


def _plot(report: Report) -> str:
    title = "The plot from above"
    spread = spread_of(report)
    if spread is None:
        text = "Where the water fell is not known from a log."
        if report.truth:
            text = "No water was given, so there is nothing to draw."
        return frame.section(title, frame.paragraph(text))
    caption = "Dashed: throw in still air. Wind and the sprinkler's own pattern do the rest."
    inner = frame.figure(plan_view(report, spread), caption) + frame.facts(
        _facts(spread, report.shown)
    )
    return frame.section(title, f'<div class="plot">{inner}</div>')


def _facts(spread: Spread, shown: Shown) -> list[tuple[str, str]]:
    return [
        ("Mean depth, all nights", shown.text(spread.mean_mm * 1e-3, "water depth")),
        ("Driest quarter of the plot", shown.text(spread.driest_mm * 1e-3, "water depth")),
        ("Uniformity CU (Christiansen)", f"{spread.cu:.0f} %"),
        ("Uniformity DU (driest quarter)", f"{spread.du:.0f} %"),
        ("Plot that got half the mean or more", f"{100 * spread.covered:.0f} %"),
        ("Water that came down on the plot", f"{100 * spread.landed:.0f} %"),
        ("Throw in still air", shown.text(spread.throw_m, "length")),
    ]


def _panels(report: Report) -> str:
    course = course_of(report)
    hint = "Shaded: the pump was switched on."
    hint += " Dots are means of a minute." if course.measured else ""
    panels = [night_panel(report, night, course) for night in report.nights]
    return frame.section("Night by night", frame.paragraph(hint, "hint"), *panels, kind="fresh")
