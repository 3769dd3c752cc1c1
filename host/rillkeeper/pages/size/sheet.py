"""The whole page of a sizing, part by part."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from rillkeeper.design.size.tables import tables_of
from rillkeeper.design.size.what_if import Variation
from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import frame
from rillkeeper.pages.report import listings
from rillkeeper.pages.size.charge import charge
from rillkeeper.pages.size.curves import curves
from rillkeeper.pages.size.plan import plan
from rillkeeper.pages.size.stairs import head_stairs, volt_stairs
from rillkeeper.pages.size.whatif import whatif
from rillkeeper.text_table import TextTable
from rillkeeper.verdict import Answer


@dataclass(frozen=True)
class Extra:
    """What was asked beyond the plain sizing."""

    tables: tuple[TextTable, ...] = ()
    variation: Variation | None = None
    sure: str = ""


def write(work: Workings, path: Path, extra: Extra | None = None) -> None:
    """Write the page to a file."""
    path.write_text(html_of(work, extra), encoding="utf-8", newline="\n")


def html_of(work: Workings, extra: Extra | None = None) -> str:
    """The page as text; the same sizing gives the same text."""
    extra = extra or Extra()
    parts = [_opening(work, extra.sure), *_asked(work, extra)]
    if work.facts.runs:
        parts += _worked(work)
    parts.append(listings.cautions())
    return frame.document(f"{work.site.name}: sizing", parts)


def _opening(work: Workings, sure: str) -> str:
    answers = "".join(map(_answer, work.verdict.answers))
    lead = f"{work.verdict.sentence} {sure}".rstrip()
    return (
        f"<header>\n<h1>{escape(work.site.name)}</h1>\n"
        f"{frame.paragraph('worked out before anything is bought', 'kicker')}\n"
        f'{frame.paragraph(lead, "lead")}\n<div class="answers">{answers}</div>\n</header>'
    )


def _answer(answer: Answer) -> str:
    detail = f"{answer.sentence} {answer.detail}".rstrip()
    short = f"{answer.short[:1].upper()}{answer.short[1:]}"
    return (
        f'<div class="answer {answer.state}">{frame.paragraph(answer.question, "kicker")}'
        f"<strong>{escape(short)}</strong>{frame.paragraph(detail)}</div>"
    )


def _asked(work: Workings, extra: Extra) -> list[str]:
    """The what-ifs, with the picture before the table of the same key."""
    parts = []
    for sheet in extra.tables:
        drawn = ""
        if sheet.key == "vary" and extra.variation is not None and sheet is extra.tables[0]:
            caption = ""
            if len(extra.variation.axes) > 1:
                caption = "Bold: nothing stands in the way."
            drawn = frame.figure(whatif(extra.variation, work.site), caption)
        parts.append(_section(sheet, drawn))
    return parts


def _worked(work: Workings) -> list[str]:
    shown = Shown(work.site.units)
    pictures = {
        "running": frame.figure(
            curves(work, shown),
            "Where a pump curve meets the curve of the lines, the site works. To the right of the "
            "NPSH limit the suction line lets no more through.",
        ),
        "heads": frame.figure(head_stairs(work, shown)),
        "volts": frame.figure(volt_stairs(work)),
        "nights": frame.figure(charge(work, shown)),
    }
    sheets = tables_of(work)
    caption = "Calm night, battery half used. Dashed: throw in still air."
    place = next(sheet for sheet in sheets if sheet.key == "plot")
    inner = f"{frame.figure(plan(work, shown), caption)}{frame.facts(_pairs(place))}"
    first = frame.section(
        place.title,
        f'<div class="plot">{inner}</div>',
        frame.paragraph(place.note, "hint"),
    )
    rest = [_section(sheet, pictures.get(sheet.key, "")) for sheet in sheets if sheet != place]
    return [first, *rest]


def _pairs(sheet: TextTable) -> list[tuple[str, str]]:
    return [(row[0], row[1]) for row in sheet.rows]


def _section(sheet: TextTable, drawn: str) -> str:
    note = frame.paragraph(sheet.note, "hint")
    return frame.section(sheet.title, drawn, _table(sheet), note, kind="keep")


def _table(sheet: TextTable) -> str:
    rows: Sequence[tuple[str, Sequence[str]]] = [
        ("", [escape(cell) for cell in row]) for row in sheet.rows
    ]
    return frame.table("", [escape(head) for head in sheet.headings], rows, sheet.numeric)
