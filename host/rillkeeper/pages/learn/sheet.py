"""What was learned as one page: the pictures first, then the tables and what limits them."""

from html import escape
from pathlib import Path

from rillkeeper.display_units import Shown, day_text
from rillkeeper.inquiry.learn import summary
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.inquiry.learn.overlay import Source
from rillkeeper.pages import frame
from rillkeeper.pages.learn.pictures import agreement_chart, spread_chart


def write(learned: LearnedSite, source: Source, path: Path) -> None:
    """Write the page to a file."""
    path.write_text(html_of(learned, source), encoding="utf-8", newline="\n")


def html_of(learned: LearnedSite, source: Source) -> str:
    """The page as text; the same nights give the same text."""
    shown = Shown(learned.site.units)
    nights = summary.nights_text(learned)
    told = [one.about.name for one in learned.inputs if one.told]
    lead = "These nights tell nothing new."
    if told:
        lead = f"These nights tell the {', the '.join(told)}."
    off = summary.off_text(learned, shown)
    kicker = f"Learned from {source.board}, {nights}: {summary.how_much(learned)}"
    head = (
        f"<header>\n<h1>{escape(learned.site.name)}</h1>\n{frame.paragraph(kicker, 'kicker')}\n"
        f"{frame.paragraph(lead, 'lead')}\n{frame.paragraph(off)}\n</header>"
    )
    spread = frame.figure(
        spread_chart(learned),
        "Pale: what could be expected before. Dark: what is left once the readings are in, one "
        "standard deviation to either side. A dark bar as wide as the pale one has learned "
        "nothing.",
    )
    agreement = frame.figure(
        agreement_chart(learned),
        "Dots: the board's readings, run after run. Dashed: as the site file has it. Full: as "
        "learned.",
    )
    notes = "\n".join(frame.paragraph(note) for note in summary.notes(learned))
    parts = [
        head,
        frame.section("What was learned", spread, _inputs(learned), notes, kind="keep"),
        frame.section("Predicted against recorded", agreement, _nights(learned, shown)),
    ]
    return frame.document(f"{learned.site.name}: learned from {nights}", parts)


def _inputs(learned: LearnedSite) -> str:
    system = learned.site.units

    def cells(place: int) -> tuple[str, list[str]]:
        one = learned.inputs[place]
        row = one.about.row
        texts = [
            one.about.name,
            one.about.key,
            summary.shown_value(row, one.about.centre, system),
            summary.shown_value(row, one.value, system),
            summary.shown_value(row, one.spread, system, 2),
            summary.words_of(one),
        ]
        return "", [escape(text) for text in texts]

    heads = ["Input", "In the site file", "There", "Learned", "+-", "What became of it"]
    return frame.table("", heads, map(cells, range(len(learned.inputs))), {2, 3, 4})


def _nights(learned: LearnedSite, shown: Shown) -> str:
    def cells(row: summary.NightMean) -> tuple[str, list[str]]:
        numbers = (row.recorded, row.before, row.after)
        texts = [
            day_text(row.night),
            row.quantity,
            *(shown.text(number, row.dimension) for number in numbers),
        ]
        return "", [f'<span class="nowrap">{escape(text)}</span>' for text in texts]

    heads = ["Night of", "What", "Recorded", "By the site file", "By what was learned"]
    return frame.table("", heads, map(cells, summary.night_means(learned)), {2, 3, 4})
