"""The tables of a sizing, as text: the terminal and the page both show these."""

from math import isfinite

from rillkeeper import units
from rillkeeper.design.size.nights import NIGHTS_MAX, ChargeCase
from rillkeeper.design.size.shopping import CARRY_MOST_KG
from rillkeeper.design.size.suction import LONGEST_M, TEMPERATURES_C
from rillkeeper.design.size.sun import MJ_PER_KWH, Sun
from rillkeeper.design.size.wires import CableChoice
from rillkeeper.design.size.workings import Workings
from rillkeeper.display_units import Shown, duration_text
from rillkeeper.text_table import TextTable
from rillsim.water.motor_heat import INSULATION_C
from rillsim.water.operating_point import OperatingPoint

NONE = "-"


def tables_of(work: Workings) -> list[TextTable]:
    """Every table, in the order in which a gardener asks."""
    makers = (
        _running,
        _heads,
        _volts,
        _cables,
        _nights,
        _depths,
        _bores,
        _lifts,
        _plot,
        _shopping,
    )
    return [make(work, Shown(work.site.units)) for make in makers]


def _running(work: Workings, shown: Shown) -> TextTable:
    """The operating point as the battery empties."""
    points = (work.points.full, work.points.half, work.points.used)

    def row(name: str, dimension: str, value: str, sign: float = 1.0) -> tuple[str, ...]:
        cells = [shown.bare(sign * getattr(point, value), dimension) for point in points]
        return (name, *cells, shown.unit(dimension))

    def share(name: str, cell: str) -> tuple[str, ...]:
        return (name, NONE, cell, NONE, "%")

    rows = (
        row("flow", "flow", "flow_m3_s"),
        row("suction at the inlet", "pressure", "inlet_pa", -1.0),
        row("NPSH to spare", "length", "npsh_margin_m"),
        row("pressure at the pump", "pressure", "pump_pa"),
        row("pressure at the nozzle", "pressure", "nozzle_pa"),
        row("throw", "length", "throw_m"),
        row("battery posts", "voltage", "battery_v"),
        row("motor", "voltage", "pump_v"),
        row("current", "current", "current_a"),
        ("electric power", *(_watts(point) for point in points), "W"),
        share("pump, electric to water", _percent(work.power.pump_efficiency)),
        share("battery to nozzle", _percent(work.power.whole_efficiency)),
    )
    left = f"used: {100.0 * work.nights.depth:.0f} % of the charge gone, at the end of a night. "
    left += _motor_text(work, shown)
    heads = ("", "full", "half used", "used", "unit")
    return TextTable("running", "At work, as the battery empties", heads, rows, left)


def _motor_text(work: Workings, shown: Shown) -> str:
    if work.motor_c is None:
        return "How warm the motor gets is not known: no duty rating of the pump is given."
    reached, stands = (shown.text(c, "temperature") for c in (work.motor_c, INSULATION_C))
    text = f"The motor's winding reaches some {reached} in a night; its insulation stands {stands}"
    return f"{text}: too hot." if work.motor_c > INSULATION_C else f"{text}."


def _heads(work: Workings, shown: Shown) -> TextTable:
    """The staircase of head."""
    unit = shown.unit("length")
    rows = tuple(
        (step.name, _signed(step.gain_m, shown), _head(step.after_m, shown))
        for step in work.heads.steps
    )
    note = "Gauge head: below zero it is suction. What the nozzle takes is what throws the water."
    title = f"Where the head goes, {unit} of water"
    return TextTable("heads", title, ("", "gained", "left after it"), rows, note)


def _volts(work: Workings, shown: Shown) -> TextTable:
    """The staircase of volts, loaded beside idle."""
    found = work.volts
    first = ("battery at rest", NONE, f"{found.rest_v:.2f}", f"{found.rest_v:.2f}")
    rows = (
        first,
        *(
            (step.name, f"-{step.drop_v:.3f}", f"{step.loaded_v:.2f}", f"{step.idle_v:.2f}")
            for step in found.steps
        ),
    )
    note = (
        "With the pump off nothing is lost anywhere: a meter reads the full voltage at the end "
        "of any cable, however thin. Measure while the pump runs."
    )
    title = f"Where the volts go at {shown.text(found.current_a, 'current')}, V"
    return TextTable("volts", title, ("after", "lost", "pump on", "pump off"), rows, note)


def _cables(work: Workings, shown: Shown) -> TextTable:
    """Cable, fuse, relay, connectors."""
    wires = work.wires
    section = units.format(work.site.cable.area_m2, "wire section", shown.system, 3)
    carries = "too thin" if wires.ampacity_a is None else f"{wires.ampacity_a:.0f} A"
    fuse = f"{wires.fuse_wanted_a:g} A" if wires.fuse_wanted_a else "none fits"
    breaks = "a blade fuse does" if wires.blade_breaks else "more than a blade fuse can"
    rows = (
        ("fitted wire", f"{section}, insulation {work.site.cable.insulation}, carries {carries}"),
        ("lost in the cable, out and back", f"{wires.cable_drop_v:.2f} V"),
        ("lost from posts to motor", f"{wires.total_drop_v:.2f} V"),
        *(
            (f"thinnest for {100.0 * choice.drop_share:.0f} % in the cable", _cable(choice))
            for choice in wires.choices
        ),
        ("fuse, within a hand of the battery", f"{fuse} (fitted {wires.fuse_a:g} A)"),
        (
            "short circuit at the pump",
            f"{wires.short_least_a:.0f} A or more: it must blow the fuse",
        ),
        ("that the fuse must break", f"{wires.breaking_a:.0f} A, {breaks}"),
        ("connectors, hand switch", f"{wires.switch_a:g} A or more, direct current"),
        ("inrush of a motor that stands", f"{wires.inrush_a:.0f} A for a moment"),
        (
            "relay's contact",
            f"{wires.relay_contact_a:g} A or more, makes {wires.relay_makes_a:g} A",
        ),
    )
    note = "The fuse protects the wire: never fit a larger one than the wire can carry."
    if wires.fuse_refusal:
        note += f" {wires.fuse_refusal[:1].upper()}{wires.fuse_refusal[1:]}."
    title = f"Cable and fuse at {shown.text(wires.current_a, 'current')}"
    return TextTable("cables", title, ("", ""), rows, note)


def _nights(work: Workings, shown: Shown) -> TextTable:
    """Nights on a charge, warm and cold, new and worn."""
    found = work.nights
    rows = tuple(
        (
            case.name,
            shown.text(case.temperature_c, "temperature"),
            f"{case.usable_ah:.0f} Ah",
            _nights_text(case),
            "the motor gets too little"
            if case.ends_by == "volts"
            else f"{100.0 * found.depth:.0f} % used",
        )
        for case in found.cases
    )
    wanted = "no battery of this kind does"
    if found.size_wanted_ah:
        wanted = f"{found.size_wanted_ah:.0f} Ah would do"
    load = found.load
    note = (
        f"A night takes {load.pump_ah:.1f} Ah for the pump and {load.board_ah:.1f} Ah for the "
        f"board. For {found.wanted} nights {wanted}. Run without a pause a full battery lasts "
        f"{found.one_go_h:.1f} h. Used to this depth it lives for about {found.charges:.0f} "
        "charges."
    )
    if found.sun:
        note += _panel_note(found.sun)
    heads = ("battery", "at", "usable", "nights", "ends when")
    return TextTable("nights", "Nights on a charge", heads, rows, note)


def _depths(work: Workings, shown: Shown) -> TextTable:
    """What a deeper use of the battery costs in its life."""
    found = work.nights
    rows = tuple(
        (
            f"{100.0 * row.depth:.0f} %{' (chosen)' if row.depth == found.depth else ''}",
            f"{row.nights:.1f}",
            f"{row.charges:.0f}",
            f"{row.nights * row.charges:.0f}",
        )
        for row in found.prices
    )
    note = (
        "Usual ranges, not this battery's sheet; warmth and lying empty shorten them. Choose by "
        "`used` under [battery]."
    )
    heads = ("used between charges", "nights on a charge", "charges in its life", "nights")
    return TextTable("depths", "How deep to use the battery", heads, rows, note)


def _panel_note(sun: Sun) -> str:
    if sun.frozen:
        return (
            f" The panel of {sun.power_w:g} W gives nothing: in these days a lithium battery is "
            "below freezing, and must not be charged."
        )
    sun_h = sun.radiation_mj_m2 / MJ_PER_KWH
    return (
        f" The panel of {sun.power_w:g} W gives {sun.usual_ah:.1f} Ah on a usual day (as much as "
        f"{sun_h:.1f} h of full sun) and {sun.dull_ah:.1f} Ah under a closed sky; the verdict "
        "counts on the battery alone, the week that is replayed on both."
    )


PRACTICE_HALF_IN_M, PRACTICE_THREE_QUARTER_IN_M = 3.0, 6.1
"""Suction lines of such pumps: 10 ft and 20 ft, common practice, no source."""


def _bores(work: Workings, shown: Shown) -> TextTable:
    """Suction lines of other bores."""
    side = work.suction
    rows = []
    for row in side.bores:
        bore = units.format(row.bore_m, "bore", shown.system, 3)
        longest = shown.text(row.longest_m, "length")
        if row.longest_m >= LONGEST_M:
            longest = f"over {longest}"
        rows.append(
            (
                f"{bore} (fitted)" if row.fitted else bore,
                _head(row.loss_m, shown),
                _head(row.margin_m, shown),
                longest if row.longest_m > 0.0 else "none",
                NONE if row.prime_s is None else duration_text(round(row.prime_s)),
            )
        )
    flow, lift = shown.text(side.flow_m3_s, "flow"), shown.text(side.lift_m, "length")
    unit = shown.unit("length")
    note = (
        "Below zero to spare, the pump starves: at zero it already gives 3 % less. Dry it primes "
        f"over {shown.text(side.dry_lift_m, 'length')} at most. The longest "
        "is that of steady flow, without the pump's pulses: practice stops at about "
        f"{shown.text(PRACTICE_HALF_IN_M, 'length')} of 1/2 in and "
        f"{shown.text(PRACTICE_THREE_QUARTER_IN_M, 'length')} of 3/4 in."
    )
    heads = ("bore", f"lost, {unit}", f"to spare, {unit}", "longest", "primes in")
    title = f"Suction line at {flow} and a lift of {lift}"
    return TextTable("bores", title, heads, tuple(rows), note)


def _lifts(work: Workings, shown: Shown) -> TextTable:
    """Highest lift by altitude and temperature of the water."""
    heads = ("above the sea", *(shown.text(t, "temperature") for t in TEMPERATURES_C))
    rows = tuple(
        (
            units.format(row.altitude_m, "length", shown.system, 3),
            *(shown.bare(lift_m, "length") if lift_m > 0.0 else "none" for lift_m in row.lift_m),
        )
        for row in work.suction.lifts
    )
    note = "For a line that is full of water; a pump primes a dry one over its dry lift only."
    title = f"Highest lift with this line, by water temperature, {shown.unit('length')}"
    return TextTable("lifts", title, heads, rows, note)


def _plot(work: Workings, shown: Shown) -> TextTable:
    """What the plot gets and needs."""
    found = work.watering

    def depth(value_mm: float) -> str:
        return shown.text(value_mm * 1e-3, "water depth")

    takes = gives = "no water comes down on it"
    if isfinite(found.need_s):
        gives = f"{depth(found.set_low_mm)} / {depth(found.set_mm)} in "
        gives += duration_text(found.set_s)
        low = "no end" if not isfinite(found.need_low_s) else duration_text(found.need_low_s)
        takes = f"{low} / {duration_text(found.need_s)}"
    rows = (
        ("reached by the spray", f"{_percent(found.reach)} %"),
        ("gets at least half of the mean", f"{_percent(found.enough)} %"),
        ("of the water that comes down on it", f"{_percent(found.landed)} %"),
        ("rate, mean over the plot", f"{depth(found.rate_mm_h)} an hour"),
        ("rate where it falls thickest", f"{depth(found.peak_mm_h)} an hour"),
        ("the soil takes in", f"{depth(found.infiltration_mm_h)} an hour"),
        ("uniformity CU, calm / windy", f"{found.cu:.0f} / {found.windy_cu:.0f} %"),
        ("uniformity DU, calm / windy", f"{found.du:.0f} / {found.windy_du:.0f} %"),
        ("crop and wet ground use on a usual day", depth(found.need_mm)),
        ("that takes, driest quarter / average", takes),
        ("the sets give, driest quarter / average", gives),
        ("the soil's reserve lasts", f"{found.days_between:.1f} days"),
    )
    note = (
        "CU: Christiansen's coefficient. DU: the driest quarter over the mean. Driest quarter: "
        "that of the plot which gets least water; the trade goes by it, and so do the minutes. "
        "Use: FAO-56 dual crop coefficient, the ground wetted every night."
    )
    return TextTable("plot", "The plot and its water", ("", ""), rows, note)


def _cable(choice: CableChoice) -> str:
    area = f"{choice.area_m2 * 1e6:g} mm2 (IEC 60228)" if choice.area_m2 else ""
    gauge = f"{choice.gauge} AWG (ABYC E-11)" if choice.gauge is not None else ""
    return " or ".join(part for part in (area, gauge) if part) or "none: bring the battery nearer"


def _nights_text(case: ChargeCase) -> str:
    return f"over {NIGHTS_MAX:.0f}" if case.nights >= NIGHTS_MAX else f"{case.nights:.1f}"


def _head(value_m: float, shown: Shown) -> str:
    return _plain(f"{shown.number(value_m, 'length'):.2f}")


def _signed(value_m: float, shown: Shown) -> str:
    return f"{shown.number(value_m, 'length'):+.2f}"


def _plain(text: str) -> str:
    return text.removeprefix("-") if float(text) == 0.0 else text


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f}"


def _watts(point: OperatingPoint) -> str:
    return f"{point.pump_power_w:.0f}"


def _shopping(work: Workings, shown: Shown) -> TextTable:
    """What to buy, as the site file has it."""
    rows = tuple(
        (
            item.part,
            item.rating,
            str(item.quantity),
            str(item.spares) if item.spares else NONE,
            NONE if item.mass_kg is None else f"{item.mass_kg:.1f}",
        )
        for item in work.shopping.items
    )
    note = "Ratings are the least; more is never wrong, save for the fuses."
    heavy_kg = work.shopping.battery_kg
    if heavy_kg > CARRY_MOST_KG:
        note += f" The battery weighs about {heavy_kg:.0f} kg: carry it with two, or take two."
    heads = ("part", "rating", "how many", "spares", "kg")
    return TextTable("shopping", "What to buy for this site", heads, rows, note)
