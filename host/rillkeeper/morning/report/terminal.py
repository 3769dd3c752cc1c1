"""The terminal table: a row a night, the events under it, and the verdict last."""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.segment import Segment, Segments
from rich.table import Table
from rich.text import Text

from rillkeeper.display_units import counted
from rillkeeper.morning.report.beside_plant import beside_plant
from rillkeeper.morning.report.report import Report, minutes_of
from rillkeeper.morning.report.spans import NightSpan, event_spans, lockout_of, night_spans
from rillkeeper.morning.report.troubles import OpenTrouble, troubles_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.sentences import STOP, WARNING
from rillkeeper.screen import OpenTable, open_table, settle
from rillkeeper.verdict import ACT, GOOD

NARROW = 92
"""A terminal narrower than this has no room for a sentence beside the figures of a night."""

_HEADING_LINES = 3
_MARKS = {STOP: ("!!", "bold red"), WARNING: ("!", "yellow")}


BESIDE = "In the plant, and not in the log"

DRIEST = (
    "Soil lacks: mean of the plot. Driest quarter: the quarter of its ground that lacks most; the "
    "trade judges a sprinkler by it, and so does the verdict."
)


class Column(NamedTuple):
    """One column: heading, unit, and the text of its cell."""

    heading: str
    """In one or two lines; the unit stands under it."""
    unit: str
    cell: Callable[[Night], str]


def columns(report: Report) -> list[Column]:
    """The columns of numbers, in order; the soil's only where it is known."""
    shown = report.shown
    volume, depth = shown.unit("volume"), shown.unit("water depth")

    def plot_mm(night: Night) -> str:
        truth = report.truth_of(night)
        if truth is not None:
            return shown.bare(truth.plot_mm * 1e-3, "water depth")
        return shown.bare(_scaled(night.depth_um, 1e-6), "water depth")

    def soil_mm(night: Night) -> str:
        return shown.bare(_scaled(deficit_mm(report, night), 1e-3), "water depth")

    def driest_mm(night: Night) -> str:
        return shown.bare(_scaled(deficit_low_mm(report, night), 1e-3), "water depth")

    def used_mm(night: Night) -> str:
        return shown.bare(_scaled(crop_use_mm(report, night), 1e-3), "water depth")

    def ran(night: Night) -> str:
        minutes = minutes_of(night)
        return "-" if minutes is None else str(minutes)

    def left(night: Night) -> str:
        return "-" if night.nights_tenths is None else f"{night.nights_tenths / 10:.1f}"

    soil = []
    if report.truth or report.balance:
        soil = [Column("Soil\nlacks", depth, soil_mm), Column("driest\nquarter", depth, driest_mm)]
    if report.balance:
        soil.insert(0, Column("Crop\nused", depth, used_mm))
    return [
        Column("Ran", "min", ran),
        Column("Water", volume, lambda n: shown.bare(_scaled(n.given_ml, 1e-6), "volume")),
        Column("Plot", depth, plot_mm),
        *soil,
        Column("Outlet", shown.unit("pressure"), lambda n: _pressure(n, report)),
        Column("Loaded", "V", lambda n: shown.bare(_scaled(n.battery_mv, 1e-3), "voltage")),
        Column("Used", "Ah", lambda n: shown.bare(_scaled(n.used_mah, 3.6), "charge")),
        Column("Nights\nleft", "", left),
    ]


class Rendered:
    """The report for a rich console; it fits itself to the width it is given."""

    def __init__(self, report: Report) -> None:
        self.report = report

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        report = self.report
        yield Text(f"{report.name}: {report.dates}", style="bold")
        if lockout_of(report):
            yield Text(lockout_of(report), style="bold red")
        yield Text()
        yield from _nights(report, console, options)
        yield from _notes(report)
        if report.events:
            yield Text("\nEvents", style="bold")
            yield _events(report)
        beside = beside_plant(report)
        if beside:
            yield Text(f"\n{BESIDE}", style="bold")
            yield from map(Text, beside)
        yield Text("\nVerdict", style="bold")
        styles = {GOOD: "green", ACT: "bold red"}
        for answer in verdict_of(report).answers:
            line = Text(answer.sentence, style=styles.get(answer.state, "yellow"))
            yield line.append(f" {answer.detail}" if answer.detail else "", style="default")
        troubles = troubles_of(report)
        if len(troubles.open) > 1:
            yield Text("\nWhat is wrong, worst first", style="bold")
            yield _troubles(troubles.open)
        if troubles.open and troubles.over:
            yield Text(f"Over, as it seems: {'; '.join(troubles.over)}.")


def render(report: Report) -> Rendered:
    """The report as something that a rich console prints."""
    return Rendered(report)


def show(report: Report, console: Console) -> None:
    """Print the report; into a file or a pipe as wide as on a common terminal."""
    settle(console)
    console.print(render(report))


def _nights(report: Report, console: Console, options: ConsoleOptions) -> RenderResult:
    """A row a night. What happened stands beside its figures, or in a line of its own under them
    where there is no room; nothing is left out at any width."""
    spans = night_spans(report)
    table = _night_table(report, spans, options.max_width >= NARROW)
    if options.max_width >= NARROW:
        yield table
        return
    rows: Sequence[Sequence[RenderableType]]
    if table.needs(console) <= options.max_width:
        lines = console.render_lines(table, options, pad=False)  # A row is one: no cell wraps.
        drawn = [Segments([*line, Segment.line()]) for line in lines]
        yield from drawn[:_HEADING_LINES]
        rows = [[line] for line in drawn[_HEADING_LINES:]]
    else:
        rows = [list(_as_list(report, span)) for span in spans]
    for row, span in zip(rows, spans, strict=True):
        yield from row
        yield Padding(Text(report.happened(span.last), style="italic"), (0, 0, 0, 2))


def _as_list(report: Report, span: NightSpan) -> Iterator[RenderableType]:
    """A night where not even its figures go into a line: with name and unit each."""
    planned = report.planned_short(span.last)
    yield Text(f"{span.days}: {planned}" if planned else span.days, style="bold")
    figures = [
        f"{' '.join(column.heading.split())} {column.cell(span.last)} {column.unit}".rstrip()
        for column in columns(report)
        if column.cell(span.last) != "-"
    ]
    if figures:
        yield Padding(Text(", ".join(figures)), (0, 0, 0, 2))


def _night_table(report: Report, spans: Sequence[NightSpan], wide: bool) -> OpenTable:
    table = open_table()
    # The soil's columns take the room.
    table.padding = (0, 1 if report.truth or report.balance else 2, 0, 0)
    table.add_column("\n\nNight of", no_wrap=True)
    table.add_column("\n\nSet", no_wrap=True)
    numbers = columns(report)
    for column in numbers:
        lines = f"{column.heading}\n{column.unit}".rstrip()
        heading = "\n" * (2 - lines.count("\n")) + lines
        table.add_column(heading, justify="right", no_wrap=True)
    if wide:
        table.add_column("\n\nWhat happened", min_width=20)
    for span in spans:
        night = span.last
        cells = [span.days, report.planned_short(night) or "-", *(c.cell(night) for c in numbers)]
        if wide:
            cells.append(report.happened(night))
        worst = max((event.told.level for event in report.events_of(span.first)), default=0)
        table.add_row(*cells, style="yellow" if worst == STOP else None)
    return table


def _notes(report: Report) -> list[Text]:
    notes = []
    if report.truth or report.balance:
        notes.append(DRIEST)
    if not report.truth:
        notes += garden_notes(report)
    notes += report.notes
    notes += report.other_site
    notes += [gap.sentence for gap in report.log.gaps]
    if report.log.damages:
        lines = ", ".join(str(damage.line) for damage in report.log.damages[:8])
        more = ", ..." if len(report.log.damages) > 8 else ""
        notes.append(
            f"{counted(len(report.log.damages), 'line')} could not be read: {lines}{more}."
        )
    return [Text(f"\n{notes[0]}"), *map(Text, notes[1:])] if notes else []


def garden_notes(report: Report) -> list[str]:
    """How the depths of a log from a garden came about, and what is not known."""
    if report.balance:
        first = "Depth on the plot as the board reckons it, against the use by the weather. "
        first += "Crop used includes what the wet ground gave off."
        return [first, *report.balance.notes]
    return [
        "Depth on the plot as the board reckons it. What crop and ground used, and what the soil "
        "lacks, is not known without the weather: give --weather and --site."
    ]


def _events(report: Report) -> Table:
    """Mark, time and sentences; what to look at is said once for each kind of trouble."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column()
    said: set[str] = set()
    for span in event_spans(report.events):
        told = span.first.told
        mark, style = _MARKS.get(told.level, ("", ""))
        line = Text(f"{told.short}: ", style=style)
        line.append(f"{told.seen} {told.did}".rstrip(), style="default")
        if told.look and told.look not in said:
            said.add(told.look)
            line.append(f" {told.look}", style="italic")
        table.add_row(Text(mark, style=style), span.when.replace(" to ", " to\n"), line)
    return table


def _troubles(troubles: Sequence[OpenTrouble]) -> Table:
    """What and since when, and where to look first."""
    table = Table.grid(padding=(0, 1, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column()
    for number, trouble in enumerate(troubles, start=1):
        style = "bold red" if trouble.state == ACT else "yellow"
        line = Text(f"{trouble.sentence}.", style=style)
        table.add_row(f"{number}.", line.append(f" {trouble.advice}", style="default"))
    return table


def _pressure(night: Night, report: Report) -> str:
    return report.shown.bare(night.pressure_pa, "pressure")


def deficit_mm(report: Report, night: Night) -> float | None:
    """What the soil lacks when a night is over: by a replay, else by the weather table."""
    truth, balance = report.truth_of(night), report.balance_of(night)
    if truth is not None:
        return truth.deficit_mm
    return balance.deficit_mm if balance else None


def deficit_low_mm(report: Report, night: Night) -> float | None:
    """The same on the driest quarter of the plot."""
    truth, balance = report.truth_of(night), report.balance_of(night)
    if truth is not None:
        return truth.deficit_low_mm
    return balance.deficit_low_mm if balance else None


def crop_use_mm(report: Report, night: Night) -> float | None:
    """What crop and ground used: by a replay, else by the weather table."""
    truth, balance = report.truth_of(night), report.balance_of(night)
    if truth is not None:
        return truth.et_mm
    return balance.used_mm if balance else None


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
