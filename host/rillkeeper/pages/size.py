"""The page of a sizing: the verdict, what was asked beyond it, and all that was worked out."""

from dataclasses import dataclass
from pathlib import Path

from rillkeeper.design.size.tables import tables_of
from rillkeeper.design.size.what_if import Variation
from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown
from rillkeeper.pages import template
from rillkeeper.pages.coming import ComingPart
from rillkeeper.pages.pictures import Picture, on_both
from rillkeeper.pages.plan import hourly_plan
from rillkeeper.pages.size_pictures import charge, curves, head_stairs, volt_stairs
from rillkeeper.pages.whatif_picture import whatif
from rillkeeper.text_table import TextTable


@dataclass(frozen=True)
class Extra:
    """What was asked beyond the plain sizing."""

    tables: tuple[TextTable, ...] = ()
    variation: Variation | None = None
    sure: str = ""
    coming: ComingPart | None = None


@dataclass(frozen=True)
class _Part:
    """A table of the page, with the picture before it."""

    table: TextTable
    picture: Picture | None = None
    caption: str = ""

    @property
    def facts(self) -> list[tuple[str, str]]:
        """The first two columns, for a table that stands beside its picture."""
        return [(row[0], row[1]) for row in self.table.rows]


def write(work: Workings, path: Path, extra: Extra | None = None) -> None:
    """Write the page to a file."""
    template.save(html_of(work, extra), path)


def html_of(work: Workings, extra: Extra | None = None) -> str:
    """The page as text; the same sizing gives the same text."""
    extra = extra or Extra()
    worked = _worked(work) if work.facts.runs else []
    plot = next((part for part in worked if part.table.key == "plot"), None)
    return template.render(
        "size",
        title=f"{work.site.name}: sizing",
        heading=work.site.name,
        lead=f"{work.verdict.sentence} {extra.sure}".rstrip(),
        answers=work.verdict.answers,
        asked=_asked(work, extra),
        plot=plot,
        coming=extra.coming,
        worked=[part for part in worked if part is not plot],
    )


def _asked(work: Workings, extra: Extra) -> list[_Part]:
    """The what-ifs, with the picture before the first table."""
    parts = [_Part(table) for table in extra.tables]
    found = extra.variation
    if found is not None and parts and parts[0].table.key == "vary":
        caption = "Bold: nothing stands in the way." if len(found.axes) > 1 else ""
        picture = on_both(lambda width_in: whatif(found, work.site, width_in))
        parts[0] = _Part(parts[0].table, picture, caption)
    return parts


def _worked(work: Workings) -> list[_Part]:
    shown = Shown(work.site.units)
    pictures = {
        "plot": hourly_plan(work, shown),
        "running": on_both(lambda width_in: curves(work, shown, width_in)),
        "heads": on_both(lambda width_in: head_stairs(work, shown, width_in)),
        "volts": on_both(lambda width_in: volt_stairs(work, width_in)),
        "nights": on_both(lambda width_in: charge(work, shown, width_in)),
    }
    captions = {
        "running": "Where a pump curve meets the curve of the lines, the site works. To the right "
        "of the NPSH limit the suction line lets no more through.",
    }
    return [
        _Part(table, pictures.get(table.key), captions.get(table.key, ""))
        for table in tables_of(work)
    ]
