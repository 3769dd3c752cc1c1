"""The terminal's tables: what was learned, and predicted against recorded."""

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from rillkeeper.display_units import Shown, day_text
from rillkeeper.inquiry.learn import summary
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.screen import open_table, settle


def show(learned: LearnedSite, console: Console) -> None:
    """Print it; into a file or a pipe as wide as on a common terminal."""
    settle(console)
    console.print(render(learned))


def render(learned: LearnedSite) -> Group:
    """All of it for a rich console."""
    shown = Shown(learned.site.units)
    title = f"{learned.site.name}: learned from {summary.nights_text(learned)}"
    parts: list[Text | Table] = [
        Text(title, style="bold"),
        Text(f"{summary.how_much(learned)}; each value with one standard deviation\n"),
        _inputs(learned),
        Text("\nPredicted against recorded, means of a night", style="bold"),
        _nights(learned, shown),
    ]
    parts.append(Text(f"\n{summary.off_text(learned, shown)}"))
    parts += [Text(note) for note in summary.notes(learned)]
    return Group(*parts)


def _inputs(learned: LearnedSite) -> Table:
    table = open_table()
    for heading in ("Input", "Site file", "Learned", "+-", "What became of it"):
        table.add_column(heading, no_wrap=heading != "Input")
    system = learned.site.units
    for one in learned.inputs:
        row = one.about.row
        table.add_row(
            f"{one.about.name} ({one.about.key})",
            summary.shown_value(row, one.about.centre, system),
            summary.shown_value(row, one.value, system),
            summary.shown_value(row, one.spread, system, 2),
            summary.words_of(one),
            style=None if one.told else "dim",
        )
    return table


def _nights(learned: LearnedSite, shown: Shown) -> Table:
    table = open_table()
    table.add_column("Night of", no_wrap=True)
    table.add_column("What", no_wrap=True)
    for heading in ("Recorded", "By the site file", "By what was learned"):
        table.add_column(heading, justify="right", no_wrap=True)
    before = None
    for row in summary.night_means(learned):
        numbers = (row.recorded, row.before, row.after)
        table.add_row(
            "" if row.night == before else day_text(row.night),
            row.quantity,
            *(shown.text(number, row.dimension) for number in numbers),
        )
        before = row.night
    return table
