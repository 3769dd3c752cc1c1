"""The page of the seasons: words first, the ribbon of years, the soil's water, the battery."""

from pathlib import Path

from rillkeeper.pages import template
from rillkeeper.pages.season_pictures import compared, ribbon, soil
from rillkeeper.season import words
from rillkeeper.season.answer import Variant


def write(variants: list[Variant], nights: int, path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(variants, nights), path)


def html_of(variants: list[Variant], nights: int) -> str:
    """The page as text; the same seasons give the same text."""
    first = variants[0]
    many = len(variants) > 1
    told = words.sentences(first, nights)
    return template.render(
        "season",
        title=f"{first.site.name}: seasons",
        heading=first.site.name,
        kicker=f"{first.years} seasons of {nights} nights, replayed by the board's own control",
        lead=told[0],
        sentences=told[1:],
        compare=words.compare_table(variants) if many else None,
        compared=compared(variants) if many else None,
        ribbon=ribbon(first),
        soil=soil(first),
        calendar=words.calendar_table(first),
        figures=[words.figure_table(one) for one in variants],
    )
