"""The answer in words first, then as tables: the same for terminal and page."""

from rillkeeper.display_units import Shown, day_text
from rillkeeper.season.answer import COMPARED, Difference, Variant, difference
from rillkeeper.season.figures import SHORT
from rillkeeper.season.reasons import helps, reasons
from rillkeeper.text_table import TextTable
from rillsim.replay import start_day_of
from rillsim.supply.cycle_life import cycle_life

EIGHT_OF_TEN = 0.8
"""The share of years that a sentence is made for."""
SEASON_LIFE_H = 1000.0
"""Hours of pumping that a brushed motor of this class lives, at the least (common practice, no
source)."""
RELAY_LIFE = 100_000
"""Closings under load that a power relay of this class lives, at the least (common practice, no
source)."""

ROWS = (
    ("full", "nights watered in full", ""),
    ("rain", "nights left out for rain", ""),
    ("cut", "nights cut short", ""),
    ("missed", "nights missed", ""),
    ("dry_days", "days with the driest quarter short of water", ""),
    ("trips", "trips home with the battery", ""),
    ("litres", "water through the sprinkler", "volume"),
    ("taken_l", "water taken from the source", "volume"),
    ("pump_h", "pump at work, h", ""),
    ("starts", "pump starts", ""),
    ("used_ah", "charge taken by the pump, Ah", ""),
    ("spray_mm", "landed on the plot", "water depth"),
    ("rain_mm", "rain", "water depth"),
    ("demand_mm", "what crop and ground want", "water depth"),
)
NAMES = {key: name for key, name, _ in ROWS}


def sentences(variant: Variant, nights: int) -> list[str]:
    """What the first variant comes to, in the order in which one would ask."""
    found = [_watered(variant, nights), _dry(variant), _trips(variant)]
    found[1:1] = [one for one in (reasons(variant), helps(variant, nights)) if one]
    found += [one for one in (_permit(variant), _life(variant)) if one]
    if variant.chance:
        listed = ", ".join(f"{name} {n} times" for name, n in variant.chance.most_common(5))
        found.append(f"By chance came, in all years together: {listed}.")
    return found


def _of_ten(variant: Variant, key: str, at_most: float) -> str:
    """ "in 8 of 10 years", or by the years themselves where they are few."""
    met, years = variant.years_with(key, at_most), variant.years
    if years < 10:
        return f"in {met} of {years} year{'s' if years > 1 else ''}"
    return f"in {10 * met // years} of 10 years"


def _bound(variant: Variant, key: str) -> float:
    """The least whole figure that eight of ten years keep to."""
    return variant.ranked(key, min(-(-8 * variant.years // 10), variant.years) - 1)


def _watered(variant: Variant, nights: int) -> str:
    bound, years = _bound(variant, SHORT), variant.years
    met = variant.years_with(SHORT, bound)
    share = f"{met} of {years}" if years < 10 else f"{10 * met // years} of 10"
    worst = int(variant.ranked(SHORT, years - 1))
    return (
        f"In {share} years no more than {int(bound)} of {nights} nights are cut short or missed; "
        f"the others are watered in full, or rain does it. In the worst year it is {worst}."
    )


def _dry(variant: Variant) -> str:
    bound = _bound(variant, "dry_days")
    return (
        f"{_of_ten(variant, 'dry_days', bound).capitalize()} the driest quarter of the plot is "
        f"short of water on no more than {int(bound)} days (over {variant.readily_mm:.0f} mm)."
    )


def _trips(variant: Variant) -> str:
    _, middle, _ = variant.band("trips")
    bound = _bound(variant, "trips")
    return (
        f"The battery goes home {middle:.0f} times in the year in the middle, "
        f"{_of_ten(variant, 'trips', bound)} no more than {int(bound)} times."
    )


def _permit(variant: Variant) -> str:
    permit, shown = variant.site.permit, Shown(variant.site.units)
    if permit.season_m3 <= 0.0:
        return ""
    allowed_l = 1000.0 * (permit.season_m3 - permit.taken_m3)
    allowed = shown.text(permit.season_m3, "volume")
    return f"The permit's {allowed} are kept {_of_ten(variant, 'taken_l', allowed_l)}."


def _life(variant: Variant) -> str:
    battery = variant.site.battery
    _, trips, _ = variant.band("trips")
    _, hours, _ = variant.band("pump_h")
    _, starts, _ = variant.band("starts")
    _, used_ah, _ = variant.band("used_ah")
    text = (
        f"The pump works {hours:.0f} h and starts {starts:.0f} times in the year in the middle, "
    )
    text += f"{hours / SEASON_LIFE_H:.0%} of a small motor's {SEASON_LIFE_H:.0f} h"
    text += f" and {starts / RELAY_LIFE:.1%} of a relay's {RELAY_LIFE} closings"
    if trips >= 1.0:
        depth = min(used_ah / trips / battery.capacity_ah, 1.0)
        charges = cycle_life(battery.chemistry, max(depth, 0.01))
        text += (
            f"; at {depth:.0%} of its charge a time the battery is worn out after some "
            f"{charges / trips:.0f} such seasons ({charges:.0f} charges)"
        )
    return f"{text}."


def figure_table(variant: Variant) -> TextTable:
    """Every figure with its band."""
    shown = Shown(variant.site.units)
    rows = []
    for key, name, dimension in ROWS:
        scale = {"volume": 1e-3, "water depth": 1e-3}.get(dimension, 1.0)
        cells = [_cell(value * scale, dimension, shown) for value in variant.band(key)]
        unit = f", {shown.unit(dimension)}" if dimension else ""
        rows.append((f"{name}{unit}", *cells))
    heads = ("a season", "1 year of 10 under", "middle", "1 year of 10 over")
    return TextTable("figures", f"{variant.name}: {variant.years} years", heads, tuple(rows))


def _cell(value: float, dimension: str, shown: Shown) -> str:
    return shown.bare(value, dimension) if dimension else f"{value:.0f}"


def calendar_table(variant: Variant) -> TextTable:
    """The battery's trips in the year in the middle."""
    first = start_day_of(variant.site)
    days = [day_text(first + night) for night in variant.median_trips]
    rows = tuple(tuple(days[place : place + 6]) for place in range(0, len(days), 6))
    rows = tuple((*row, *[""] * (6 - len(row))) for row in rows)
    title = f"Battery put on again, in the year in the middle ({len(days)} times)"
    return TextTable("trips", title, ("",) * 6, rows or (("never", *[""] * 5),))


def differences(variants: list[Variant]) -> list[tuple[Variant, list[Difference]]]:
    """Each further variant against the first."""
    first = variants[0]
    return [(other, [difference(key, first, other) for key in COMPARED]) for other in variants[1:]]


def compare_table(variants: list[Variant]) -> TextTable:
    """Variants side by side, each by its middle; then each difference, and if it is real."""
    rows = []
    for key in COMPARED:
        cells = [f"{one.band(key)[1]:.0f}" for one in variants]
        for _, found in differences(variants):
            one = next(each for each in found if each.key == key)
            cells.append(f"{one.mean:+.1f} ({one.low:+.1f} to {one.high:+.1f}), {one.word}")
        rows.append((NAMES[key], *cells))
    heads = ["year in the middle", *(one.name for one in variants)]
    heads += [f"{one.name} less {variants[0].name}" for one in variants[1:]]
    note = (
        "Each difference is the mean over the same years, the same weather and the same mishaps, "
        "with its 95 % band by the spread of the pairs."
    )
    return TextTable("compare", "Variants side by side", tuple(heads), tuple(rows), note)
