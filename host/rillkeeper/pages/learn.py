"""What was learned as one page: the pictures first, then the tables and what limits them."""

from pathlib import Path

from rillkeeper.display_units import Shown, day_text
from rillkeeper.inquiry.learn import summary
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.inquiry.learn.overlay import Source
from rillkeeper.pages import template
from rillkeeper.pages.learn_pictures import agreement_chart, spread_chart
from rillkeeper.pages.pictures import on_both


def write(learned: LearnedSite, source: Source, path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(learned, source), path)


def html_of(learned: LearnedSite, source: Source) -> str:
    """The page as text; the same nights give the same text."""
    shown = Shown(learned.site.units)
    nights = summary.nights_text(learned)
    told = [one.about.name for one in learned.inputs if one.told]
    lead = "These nights tell nothing new."
    if told:
        lead = f"These nights tell the {', the '.join(told)}."
    return template.render(
        "learn",
        title=f"{learned.site.name}: learned from {nights}",
        heading=learned.site.name,
        kicker=f"Learned from {source.board}, {nights}: {summary.how_much(learned)}",
        lead=lead,
        off=summary.off_text(learned, shown),
        spread=on_both(lambda width_in: spread_chart(learned, width_in)),
        inputs=_inputs(learned),
        notes=summary.notes(learned),
        agreement=on_both(lambda width_in: agreement_chart(learned, width_in)),
        nights=_nights(learned, shown),
    )


def _inputs(learned: LearnedSite) -> list[tuple[str, ...]]:
    system = learned.site.units
    return [
        (
            one.about.name,
            one.about.key,
            summary.shown_value(one.about.row, one.about.centre, system),
            summary.shown_value(one.about.row, one.value, system),
            summary.shown_value(one.about.row, one.spread, system, 2),
            summary.words_of(one),
        )
        for one in learned.inputs
    ]


def _nights(learned: LearnedSite, shown: Shown) -> list[tuple[str, ...]]:
    return [
        (
            day_text(row.night),
            row.quantity,
            *(
                shown.text(number, row.dimension)
                for number in (row.recorded, row.before, row.after)
            ),
        )
        for row in summary.night_means(learned)
    ]
