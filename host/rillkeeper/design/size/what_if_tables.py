"""The tables of a what-if: varied keys, advice, and the band of an uncertain site."""

from collections.abc import Callable
from dataclasses import dataclass

from rillkeeper.design.size.advise import Advice, Change, faults
from rillkeeper.design.size.facts import Facts
from rillkeeper.design.size.tables import NONE
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.design.size.what_if import HIGH, LOW, Axis, Spread, Try, Variation
from rillkeeper.display_units import Shown, duration_text
from rillkeeper.site.change import find_row, shown_value
from rillkeeper.text_table import TextTable
from rillkeeper.verdict import ACT, Verdict, in_state
from rillsim.site import Site


@dataclass(frozen=True)
class Figure:
    """One result that is shown for each try."""

    head: str
    dimension: str
    """Empty where it has no unit."""
    value: Callable[[Facts], float]

    def heading(self, shown: Shown) -> str:
        """Name and unit."""
        unit = "%" if self.dimension == "share" else ""
        if self.dimension and not unit:
            unit = shown.unit(self.dimension)
        return f"{self.head}, {unit}" if unit else self.head

    def cell(self, facts: Facts, shown: Shown) -> str:
        """The number without its unit."""
        return bare(self.value(facts), self.dimension, shown)


FIGURES = (
    Figure("flow", "flow", lambda f: f.flow_m3_s),
    Figure("at nozzle", "pressure", lambda f: f.nozzle_pa),
    Figure("throw", "length", lambda f: f.throw_m),
    Figure("reached", "share", lambda f: f.watering.reach),
    Figure("NPSH spare", "length", lambda f: f.npsh_margin_m),
    Figure("motor", "voltage", lambda f: f.pump_v),
    Figure("nights", "", lambda f: f.nights),
)
REACHED = FIGURES[3]


def bare(value: float, dimension: str, shown: Shown) -> str:
    """A result without its unit."""
    if dimension == "share":
        return f"{100.0 * value:.0f}"
    return shown.bare(value, dimension) if dimension else f"{value:.1f}"


def variation_tables(found: Variation, site: Site) -> list[TextTable]:
    """One key: a row a value. Two keys: the reach in a grid, and what stands in the way."""
    shown = Shown(site.units)
    if len(found.axes) == 1:
        return [_variation_rows(found, site, shown)]
    rows, columns = found.axes

    def grid(title: str, cell: Callable[[Try], str], note: str) -> TextTable:
        heads = (f"{rows.key} \\ {columns.key}", *columns.shown(site))
        width = len(columns.values)
        lines = tuple(
            (name, *(cell(one) for one in found.tries[place * width : (place + 1) * width]))
            for place, name in enumerate(rows.shown(site))
        )
        return TextTable("vary", title, heads, lines, note)

    return [
        grid(
            "What if: share of the plot within reach, %",
            lambda one: REACHED.cell(one.facts, shown) if one.facts else NONE,
            "A dash: the two values exclude each other.",
        ),
        grid("What if: what stands in the way", _obstacles, ""),
    ]


def advice_tables(found: Advice, site: Site) -> list[TextTable]:
    """The recommendation, and what each single change brings."""
    shown = Shown(site.units)
    rows = [
        (
            named(one.change, site),
            *(
                _change(figure.value(found.before), figure.value(one.facts), figure, shown)
                for figure in FIGURES
            ),
            _enough(one.facts),
        )
        for one in found.singles
    ]
    now = (
        "as it is",
        *(figure.cell(found.before, shown) for figure in FIGURES),
        _enough(found.before),
    )
    heads = ("one change", *(figure.heading(shown) for figure in FIGURES), "enough")
    note = (
        "Each line is one part in place of the fitted one, and what it adds or takes. Enough: "
        "with this change alone nothing is left to change. Parts are generic sizes; which costs "
        "less is a rank of our own assumption. What cannot be changed is named in the site file: "
        "fixed."
    )
    return [
        _recommendation(found, site, shown),
        TextTable("singles", "What each single change brings", heads, (now, *rows), note),
    ]


def spread_tables(found: Spread, site: Site) -> list[TextTable]:
    """Bands of the results, and how sure each answer is."""
    shown = Shown(site.units)
    bands = tuple(
        (
            band.name,
            *(bare(value, band.dimension, shown) for value in (band.low, band.middle, band.high)),
            _unit(band.dimension, shown),
        )
        for band in found.bands
    )
    inputs = ", ".join(
        f"{one.key} {_shown(one.key, one.low, site)} to {_shown(one.key, one.high, site)}"
        for one in found.ranges
    )
    heads = ("", f"{100 * LOW:.0f} % below", "middle", f"{100 * HIGH:.0f} % below", "unit")
    note = f"{found.draws} draws, seed {found.seed}: {inputs}, evenly."
    if found.impossible:
        note += f" In {found.impossible} draws the values exclude each other."
    asks = tuple(
        (one.question, f"{100.0 * one.works:.0f}", f"{100.0 * one.good:.0f}") for one in found.asks
    )
    sure = ("share of the draws, %", "not in the way", "nothing to change")
    return [
        TextTable("bands", "How sure: the results as bands", heads, bands, note),
        TextTable("sure", f"How sure: {found.sentence.lower()}".rstrip("."), sure, asks),
    ]


def named(change: Change, site: Site) -> str:
    """A change in words.

    >>> from rillsim.site import Site
    >>> named(Change("suction.bore", "suction line of", 0.0254, 1.0), Site(units="us"))
    'suction line of 1 in'
    """
    return f"{change.noun} {_shown(change.key, change.value, site)}"


def _recommendation(found: Advice, site: Site, shown: Shown) -> TextTable:
    if found.met and not found.changes:
        return TextTable("advice", "Advice", ("",), (("Nothing needs to be changed.",),))
    rows = [
        (named(change, site), f"instead of {shown_value(site, change.key)}")
        for change in found.changes
    ]
    after = found.after
    result = (
        f"throws {shown.text(after.throw_m, 'length')}, reaches "
        f"{100.0 * after.watering.reach:.0f} % of the plot, {after.nights:.1f} nights on a charge"
    )
    if found.met:
        title = "Advice: the cheapest change that does it"
        if len(rows) > 1:
            title = "Advice: the cheapest changes that do it, together"
        return TextTable("advice", title, ("", ""), (*rows, ("then it", result)))
    title = "Advice: nothing of the catalogue does it; this comes nearest"
    note = "Think of a second stand, a larger pump, or a smaller plot."
    water = verdict_of(found.before, shown).answers[0]
    if water.state == ACT:  # No part helps where the water does not come up.
        note = water.detail
    left = "; ".join(answer.short for answer in faults(after))
    lines = (*rows, ("then it", result), ("still in the way", left))
    return TextTable("advice", title, ("", ""), lines, note)


def _variation_rows(found: Variation, site: Site, shown: Shown) -> TextTable:
    axis: Axis = found.axes[0]
    rows = []
    for name, one in zip(axis.shown(site), found.tries, strict=True):
        cells = [figure.cell(one.facts, shown) if one.facts else NONE for figure in FIGURES]
        need = duration_text(one.facts.watering.need_low_s) if one.facts else NONE
        rows.append((name, *cells, need, _obstacles(one)))
    heads = (axis.key, *(figure.heading(shown) for figure in FIGURES), "a day takes", "in the way")
    note = (
        "A day takes: the pumping that gives the driest quarter of the plot what crop and wet "
        "ground use on a usual day."
    )
    for name, one in zip(axis.shown(site), found.tries, strict=True):
        if one.conflict:
            note += f" {name} is not possible: {one.conflict}."
    return TextTable("vary", f"What if: {axis.key}", heads, tuple(rows), note)


def _enough(facts: Facts) -> str:
    return "no" if faults(facts) else "yes"


def _obstacles(one: Try) -> str:
    if one.verdict is None:
        return "not possible"
    return _short(one.verdict) or "nothing"


def _short(verdict: Verdict) -> str:
    return ", ".join(answer.key for answer in in_state(verdict.answers, ACT))


def _change(before: float, after: float, figure: Figure, shown: Shown) -> str:
    """The difference that a change makes, with its sign; a dot where it makes none."""
    scale = 100.0 if figure.dimension == "share" else 1.0
    if figure.dimension and figure.dimension != "share":
        before, after = (shown.number(value, figure.dimension) for value in (before, after))
        decimals = shown.decimals(figure.dimension)
    else:
        decimals = 0 if figure.dimension else 1
    text = f"{scale * (after - before):+.{decimals}f}"
    return "." if float(text) == 0.0 else text


def _shown(key: str, value: float, site: Site) -> str:
    _, row = find_row(key)
    return row.show(value, site.units, 3)


def _unit(dimension: str, shown: Shown) -> str:
    if dimension == "share":
        return "%"
    return shown.unit(dimension) if dimension else ""
