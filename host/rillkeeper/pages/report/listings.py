"""What is read rather than looked at: nights, events, gaps, the faults of a replay, cautions."""

from html import escape

from rillkeeper.display_units import counted, day_text
from rillkeeper.morning.report.report import Event, Report
from rillkeeper.morning.report.table import columns
from rillkeeper.pages import frame
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.sentences import STOP

CAUTIONS = (
    "Take the battery's clamp off before you touch pump, relay or cable.",
    "A short circuit of a 12 V battery melts tools and starts fires: keep the fuse at the "
    "battery, metal off the poles, and rings off your fingers.",
    "A lead-acid battery gives off hydrogen while it is charged: charge it in the open or in a "
    "well aired room, away from sparks, and wear eye protection near the acid.",
    "A 12 V battery weighs as much as a full bucket or two: lift it with your legs, carry it "
    "upright, and never over water.",
    "Pond water is not drinking water. Do not spray it on what is eaten raw just before picking.",
    "The board guards the pump; it does not guard people. Keep children away from open water.",
    "Plant and garden of a replay are models: measure with cans on the plot before you trust a "
    "depth.",
)

NO_WEATHER = (
    "What the crop used is not known: the log has no weather. Give a table of daily weather with "
    "--weather and the site file with --site."
)


def nights_table(report: Report) -> str:
    """The table of nights, with the same columns as in the terminal."""
    numbers = columns(report)
    heads = ["Night of", "Set"]
    for column in numbers:
        name = escape(column.heading).replace("\n", "<br>")
        heads.append(f"{name}<small>{escape(column.unit) or '&nbsp;'}</small>")
    heads.append("What happened")

    def row(night: Night) -> tuple[str, list[str]]:
        level = max((event.told.level for event in report.events_of(night)), default=0)
        texts = [escape(column.cell(night)) for column in numbers]
        first = [day_text(night.day), escape(report.planned_short(night) or "-")]
        cells = [f'<span class="nowrap">{text}</span>' for text in first] + list(texts)
        return "stop" if level == STOP else "", [*cells, escape(report.happened(night))]

    table = frame.table("", heads, map(row, report.nights), set(range(2, 2 + len(numbers))))
    return table + frame.paragraph(_table_note(report), "hint")


def events_list(report: Report) -> str:
    """Every event in whole sentences, with what to look at first."""
    if not report.events:
        return frame.paragraph("Nothing happened beyond the sets.")

    def row(event: Event) -> tuple[str, list[str]]:
        told = event.told
        words = (
            f"<p><b>{escape(_capital(told.short))}.</b> {escape(told.seen)} {escape(told.did)}</p>"
        )
        if told.look:
            words += f"<p>{escape(told.look)}</p>"
        when = f'<span class="nowrap">{escape(event.when)}</span>'
        return "", [frame.mark(event.number, told.level), when, words]

    heads = ["No.", "When", "What was seen, what the board did, what to look at first"]
    return frame.table("events", heads, map(row, report.events), set())


def data_notes(report: Report) -> str:
    """Whether the log is whole, and what it lacks."""
    log = report.log
    text = f"{counted(len(log.entries), 'record')} read."
    if log.whole:
        text += " None is missing and none is damaged."
    if log.duplicates:
        text += f" {counted(log.duplicates, 'line')} came twice and counted once."
    parts = [frame.paragraph(text)]
    parts += [frame.paragraph(sign) for sign in report.other_site]
    parts += [frame.paragraph(gap.sentence) for gap in log.gaps]
    if log.damages:
        lines = ", ".join(f"{damage.line} ({damage.reason})" for damage in log.damages)
        parts.append(frame.paragraph(f"Lines that could not be read: {lines}."))
    silent = [day_text(night.day) for night in report.nights if night.run_s is None]
    if silent:
        parts.append(frame.paragraph(f"Nights without a record: {', '.join(silent)}."))
    if not report.truth:
        lacking = "Where the water fell"
        lacking += "" if report.balance else ", and what the soil lacks,"
        parts.append(
            frame.paragraph(
                f"{lacking} is not known: a log tells what left the pump, not what reached the "
                "roots."
            )
        )
    parts.append(frame.paragraph("All times are the board's own clock.", "hint"))
    return "\n".join(parts)


def faults_list(report: Report) -> str:
    """What a replay put in the way; a real garden does not tell."""
    rows = [
        (
            "",
            [
                str(fault.spec.night),
                f"<span class='nowrap'>{escape(fault.spec.name)}</span>",
                escape(fault.sentence),
                "yes" if fault.felt else "no",
            ],
        )
        for fault in report.faults
    ]
    heads = ["Night", "Fault", "What it is", "Felt by the plant"]
    return frame.table("", heads, rows, set()) if rows else ""


def cautions() -> str:
    """The cautions at the foot of the page."""
    items = "".join(f"<li>{escape(text)}</li>" for text in CAUTIONS)
    return f"<footer><b>Water and electricity hurt people.</b><ul>{items}</ul></footer>"


def _table_note(report: Report) -> str:
    note = (
        "Outlet and Loaded: pressure at the pump, and the lowest voltage while it ran. Nights "
        "left: as the board counts them."
    )
    if report.truth:
        note += (
            " Plot: mean depth that came down on the plot. Soil lacks: at noon after the night."
            " Water: as the board reckons it."
        )
    else:
        note += " Plot: as the board reckons it from the litres."
    return note


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
