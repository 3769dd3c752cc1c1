"""The handles of the page: each a key of the site file, or the charge in the battery.

A handle's value is a text as it stands in the site file ("18 m", "3/4 in"): the page sends it
back as it is, and the file's own reader reads it.
"""

from dataclasses import dataclass
from math import ceil, floor, log10

from rillkeeper import units
from rillkeeper.design.limits.working_site import depth_of
from rillkeeper.design.size.parts import BATTERY, FOLLOWING, PARTS
from rillkeeper.display_units import Shown
from rillkeeper.site.change import find_row, shown_value, value_of
from rillkeeper.site.schema import Row
from rillsim.site import Site

CHARGE = "charge"
"""No key of a site file: how full the battery is while one looks."""
CHARGE_LEAST = 10
_SIZES = {part.key: part for part in (*PARTS, *FOLLOWING, BATTERY)}
_SAME = 1e-6


@dataclass(frozen=True)
class Handle:
    """One handle, with a slider where it has a step, and a list to choose from elsewhere."""

    key: str
    label: str
    low: float = 0.0
    high: float = 0.0
    """Ends of the slider, in the metric unit of its kind."""
    step: float = 0.0


GROUPS: tuple[tuple[str, tuple[Handle, ...]], ...] = (
    (
        "Water",
        (
            Handle("water.lift", "Pump above the water", -1.0, 8.0, 0.05),
            Handle("suction.length", "Suction line", 0.5, 20.0, 0.1),
            Handle("suction.bore", "Suction bore"),
            Handle("suction.foot_valve", "Foot valve"),
        ),
    ),
    (
        "Hose and spray",
        (
            Handle("line.length", "Hose", 1.0, 120.0, 0.5),
            Handle("line.bore", "Hose bore"),
            Handle("line.rise", "Nozzle above the pump", -2.0, 15.0, 0.1),
            Handle("sprinkler.nozzle_bore", "Nozzle"),
            Handle("sprinkler.x", "Stand, from the west", 0.0, 0.0, 0.05),
            Handle("sprinkler.y", "Stand, from the south", 0.0, 0.0, 0.05),
            Handle("weather.wind", "Wind, mean of the day", 0.0, 8.0, 0.1),
        ),
    ),
    (
        "Power",
        (
            Handle("cable.length", "Cable, one way", 0.1, 20.0, 0.1),
            Handle("cable.section", "Cable gauge"),
            Handle("cable.fuse", "Fuse"),
            Handle("battery.chemistry", "Battery kind"),
            Handle("battery.capacity", "Battery"),
        ),
    ),
)
KEYS = tuple(handle.key for _, handles in GROUPS for handle in handles)


def handles_of(site: Site) -> list[dict[str, object]]:
    """All handles as this site has them, for the page."""
    found: list[dict[str, object]] = []
    for group, handles in GROUPS:
        for handle in handles:
            _, row = find_row(handle.key)
            base = {"key": handle.key, "label": handle.label, "group": group}
            more = _slider(site, handle, row) if handle.step else _choices(site, handle, row)
            found.append({**base, "says": row.says, **more})
    half = 100.0 * (1.0 - depth_of(site.battery) / 2.0)
    found.append(
        {
            "key": CHARGE,
            "label": "Charge in the battery",
            "group": GROUPS[-1][0],
            "says": "How full it is while you look; the verdict stands for one half used.",
            "kind": "range",
            "unit": "%",
            "min": CHARGE_LEAST,
            "max": 100,
            "step": 1,
            "value": round(half),
        }
    )
    return found


def _slider(site: Site, handle: Handle, row: Row) -> dict[str, object]:
    """Ends and step in the units of the site, wide enough for what the file says."""
    shown = Shown(site.units)
    metric = Shown()
    per_unit = shown.number(1.0, row.kind) / metric.number(1.0, row.kind)
    high = handle.high or {"sprinkler.x": site.plot.width_m, "sprinkler.y": site.plot.depth_m}.get(
        handle.key, 0.0
    )
    value = shown.number(value_of(site, handle.key) * row.per, row.kind)
    step = handle.step if per_unit == 1.0 else _round_step(handle.step * per_unit)
    value = round(value, 3)
    low = min(ceil(round(handle.low * per_unit / step, 6)) * step, value)
    top = max(floor(round(high * per_unit / step, 6)) * step, value)
    return {
        "kind": "range",
        "unit": shown.unit(row.kind),
        "min": round(low, 6),
        "max": round(top, 6),
        "step": step,
        "value": value,
    }


def _round_step(step: float) -> float:
    """The nearest of 1, 2 and 5 times a power of ten."""
    steps = [n * 10.0**power for power in range(-3, 3) for n in (1, 2, 5)]
    return min(steps, key=lambda one: abs(log10(one / step)))


def _choices(site: Site, handle: Handle, row: Row) -> dict[str, object]:
    """Sizes as they are sold and the fitted one among them, or the names of a choice."""
    if not row.in_units:
        names = row.names()
        value = shown_value(site, handle.key)
        return {"kind": "choice", "value": value, "choices": [(name, name) for name in names]}
    fitted = value_of(site, handle.key)
    sold = [size for size in _SIZES[handle.key].sold(site.units) if not _same(size, fitted)]
    choices = [_named(row, size, site.units) for size in sorted([*sold, fitted])]
    return {"kind": "choice", "value": _named(row, fitted, site.units)[0], "choices": choices}


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME * abs(other)


def _named(row: Row, size: float, system: str) -> tuple[str, str]:
    """A size as it is written in the file, and as it is shown: hoses are sold by the inch."""
    own = row.show(size, system, 5)
    trade = row.show(size, "us", 5)
    if system == "us" or row.kind not in ("bore", "wire section"):
        return own, own
    if _same(units.parse(trade, row.kind) / row.per, size) and ("/" in trade or "AWG" in trade):
        return trade, f"{trade} ({row.show(size, system, 3)})"
    return own, own
