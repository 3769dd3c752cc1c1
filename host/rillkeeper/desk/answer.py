"""What the page shows of a site: everything from the functions that `size` works with.

An answer comes twice: quick, while something is dragged, and whole, when it rests. Only the
whole one asks whether the board has safe limits and looks for the battery that would do, which
takes three times as long as all the rest.
"""

from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np

from rillkeeper import units
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size import staircases
from rillkeeper.design.size.advise import cost_between
from rillkeeper.design.size.facts import Facts, facts_from
from rillkeeper.design.size.nights import NIGHTS_MAX
from rillkeeper.design.size.parts import cost_class
from rillkeeper.design.size.shopping import CARRY_MOST_KG, battery_kg
from rillkeeper.design.size.staircases import Heads, Volts, heads_of, volts_of
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.design.size.watering import spray_map, watering_of
from rillkeeper.design.size.wires import wires_of
from rillkeeper.display_units import Shown, duration_text
from rillkeeper.verdict import GOOD, LOOK, Answer, Verdict
from rillsim.garden.weather import WIND_SWING
from rillsim.site import Site
from rillsim.water.operating_point import OperatingPoint
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.sprinkler import STAND_M

PARTS = {
    "water": "lift",
    "standing": "lift",
    "source": "water",
    "store": "water",
    "suction": "suction",
    "cover": "spray",
    "jet": "nozzle",
    "volts": "cable",
    "wiring": "fuse",
    "limits": "pump",
    "battery": "battery",
    "soil": "plot",
    "even": "plot",
    "need": "plot",
}
"""What lights up in the drawing for each question of the verdict."""
SLOW = ("limits",)
"""Questions that a quick answer leaves open."""


@dataclass(frozen=True)
class Worked:
    """One site worked out, ready to be told."""

    site: Site
    facts: Facts
    verdict: Verdict
    drawn: WorkingSite
    """With the charge that the page looks at."""
    whole: bool


def work_out(site: Site, charge: float | None, whole: bool) -> Worked:
    """Work a site out, as `size` does."""
    work = WorkingSite(site)
    facts = facts_from(work, wires_of(work), watering_of(work), size_battery=whole, limits=whole)
    drawn = work if charge is None else work.at_charge(charge)
    return Worked(site, facts, verdict_of(facts, work.shown), drawn, whole)


def document(worked: Worked, before: Site) -> dict[str, Any]:
    """An answer for the page; costs are counted from the site ``before``."""
    shown = Shown(worked.site.units)
    answers = [
        _answer(one) for one in worked.verdict.answers if worked.whole or one.key not in SLOW
    ]
    return {
        "whole": worked.whole,
        "runs": worked.drawn.middle.point.flow_m3_s > 0.0,
        "sentence": worked.verdict.sentence if worked.whole else "",
        "answers": answers,
        "figures": _figures(worked, before, shown),
        "scene": _scene(worked, shown),
        "pressure": _pressure(worked.drawn, shown),
        "volts": _volts(volts_of(worked.drawn), worked.facts.minimum_v),
        "plot": _plot(worked.drawn, worked.facts, shown),
    }


def _answer(one: Answer) -> dict[str, str]:
    return {
        "key": one.key,
        "part": PARTS.get(one.key, ""),
        "state": one.state,
        "question": one.question,
        "short": one.short,
        "sentence": f"{one.sentence} {one.detail}".strip(),
    }


def _figures(worked: Worked, before: Site, shown: Shown) -> list[dict[str, Any]]:
    """The few figures beside the drawing, each with how it is to be taken."""
    facts, site = worked.facts, worked.site
    plot = facts.watering
    states = {one.key: one.state for one in worked.verdict.answers}
    kg = battery_kg(site.battery.chemistry, site.battery.capacity_ah)
    nights = f"{facts.nights:.1f}" if facts.nights < NIGHTS_MAX else f"{NIGHTS_MAX:.0f} or more"
    need = duration_text(plot.need_low_s) if isfinite(plot.need_low_s) else "never enough"
    driest = f"{shown.text(plot.set_low_mm * 1e-3, 'water depth')}, DU {plot.windy_du:.0f} %"
    dry, cost = "no water", cost_class(cost_between(before, site))
    rows = [
        ("nights", "Nights on a charge", nights, f"{facts.wanted} wanted", states.get("battery")),
        ("minutes", "Pumping a night", duration_text(plot.set_s), "as the sets ask", GOOD),
        ("need", "The driest quarter needs", need, "of pumping a night", states.get("need")),
        ("driest", "The driest quarter gets", driest, "in usual wind", states.get("even")),
        ("throw", "Throw", shown.text(_point(worked).throw_m, "length"), "in still air", None),
        ("flow", "Flow", shown.text(_point(worked).flow_m3_s, "flow"), "at this charge", None),
        ("weight", "The battery weighs", f"{kg:.0f} kg", *_carried(kg)),
        ("cost", "What was changed costs", cost, "our guess", GOOD),
    ]
    if not facts.runs:
        empty = ("minutes", "need", "driest", "throw", "flow", "nights")
        rows = [(k, w, dry if k in empty else v, n, s) for k, w, v, n, s in rows]
    return [
        {"key": key, "words": words, "value": value, "note": note, "state": state or GOOD}
        for key, words, value, note, state in rows
    ]


def _point(worked: Worked) -> OperatingPoint:
    return worked.drawn.middle.point


def _carried(kg: float) -> tuple[str, str]:
    return ("carry it with two", LOOK) if kg > CARRY_MOST_KG else ("to carry home", GOOD)


def _scene(worked: Worked, shown: Shown) -> dict[str, Any]:
    """Sizes of what is drawn, in metres, and what is written at it."""
    site, point = worked.site, _point(worked)
    return {
        "lift": site.water.lift_m,
        "cover": site.water.cover_m,
        "suction": site.suction.length_m,
        "suction_bore": site.suction.bore_m,
        "foot_valve": site.suction.foot_valve,
        "hose": site.line.length_m,
        "hose_bore": site.line.bore_m,
        "rise": site.line.rise_m,
        "stand": STAND_M,
        "throw": point.throw_m,
        "elevation_deg": site.sprinkler.elevation_deg,
        "cable": site.cable.length_m,
        "charge": worked.drawn.charge,
        "texts": {
            "lift": shown.text(site.water.lift_m, "length"),
            "suction": shown.text(site.suction.length_m, "length"),
            "hose": shown.text(site.line.length_m, "length"),
            "rise": shown.text(site.line.rise_m, "length"),
            "throw": shown.text(point.throw_m, "length"),
            "flow": shown.text(point.flow_m3_s, "flow"),
            "cable": shown.text(site.cable.length_m, "length"),
            "battery": f"{site.battery.capacity_ah:g} Ah",
            "charge": f"{100.0 * worked.drawn.charge:.0f} %",
            "current": shown.text(point.current_a, "current"),
        },
        "metre": shown.number(1.0, "length"),
        "unit": shown.unit("length"),
    }


def _pressure(work: WorkingSite, shown: Shown) -> dict[str, Any]:
    """Pressure along the way, pump on and off: by place, in the order of the drawing.

    What stands in `heads_of` as one loss is laid where it is: the lift along the suction line,
    the rise along the hose but for the stand.
    """
    heads = heads_of(work)
    weight = work.plumbing.water.density_kg_m3 * GRAVITY_M_S2

    def shown_pa(head_m: float) -> float:
        return round(shown.number(head_m * weight, "pressure"), 4)

    marks = []
    on_m = off_m = 0.0
    for place, name, gain_m, still_m in _way(heads, work.site):
        on_m, off_m = on_m + gain_m, off_m + still_m
        marks.append({"at": place, "name": name, "on": shown_pa(on_m), "off": shown_pa(off_m)})
    rating = shown.number(work.site.pump.max_pressure_pa, "pressure")
    return {"unit": shown.unit("pressure"), "marks": marks, "rating": round(rating, 4)}


def _way(heads: Heads, site: Site) -> list[tuple[str, str, float, float]]:
    """Place, name, and the gain of head there with the pump on and off."""
    gain = heads.gain_m
    inlet_m, outlet_m = heads.still_m(staircases.LIFT), heads.still_m(staircases.PUMP)
    slope_m = site.line.rise_m - STAND_M
    foot_m = min(STAND_M, max(outlet_m - slope_m, 0.0)) if outlet_m > 0.0 else 0.0
    drawn = gain(staircases.LIFT) + gain(staircases.SUCTION) + gain(staircases.SUCTION_FITTINGS)
    return [
        ("water", "open water", 0.0, 0.0),
        ("water", staircases.STRAINER, gain(staircases.STRAINER), 0.0),
        ("water", staircases.FOOT_VALVE, gain(staircases.FOOT_VALVE), 0.0),
        ("pump", "suction line and lift", drawn, inlet_m),
        ("pump", "pump", gain(staircases.PUMP), outlet_m - inlet_m),
        ("foot", "hose", gain(staircases.HOSE) - slope_m, foot_m - outlet_m),
        ("foot", staircases.HOSE_FITTINGS, gain(staircases.HOSE_FITTINGS), 0.0),
        ("top", "stand", -STAND_M, -foot_m),
        ("top", "nozzle", gain(staircases.NOZZLE), 0.0),
    ]


def _volts(volts: Volts, minimum_v: float) -> dict[str, Any]:
    """Volts from the battery to the motor, pump on and off."""
    steps = [
        {"name": one.name, "on": round(one.loaded_v, 3), "off": round(one.idle_v, 3)}
        for one in volts.steps
    ]
    return {"rest": round(volts.rest_v, 3), "steps": steps, "minimum": minimum_v}


def _plot(work: WorkingSite, facts: Facts, shown: Shown) -> dict[str, Any]:
    """The plot from above: what a night's sets lay on it in the usual wind of an evening."""
    site, point = work.site, work.middle.point
    wind_m_s = site.weather.wind_m_s * (1.0 - WIND_SWING)
    night_m3 = point.flow_m3_s * facts.watering.set_s
    depth = spray_map(work, wind_m_s) * night_m3 * 1e3
    mm = shown.number(1e-3, "water depth")
    return {
        "width": site.plot.width_m,
        "depth": site.plot.depth_m,
        "x": site.sprinkler.x_m,
        "y": site.sprinkler.y_m,
        "arc": site.sprinkler.arc_deg,
        "facing": site.sprinkler.facing_deg,
        "throw": point.throw_m,
        "unit": shown.unit("water depth"),
        "need": round(facts.watering.need_mm * mm, 3),
        "map": np.round(depth * mm, 3).tolist(),
        "wind": units.format(wind_m_s, "speed", site.units, 2),
    }
