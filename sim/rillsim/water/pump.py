"""From a data sheet to a pump, or to one sentence that says why no such pump can exist.

The sheet gives open flow, the current there, a shut-off pressure and a highest current. What
the motor has to spare over its open-flow current must pay for the pressure::

    (Imax - I0) (V - 0.7 I0 R) = Q0 p (1 - kappa p)

(0.7 is the part of the friction that does not grow with speed). The stroke loss kappa follows,
and a sheet that asks for one outside 0 to 0.1 per bar cannot be met: no motor of that current
makes that pressure at that flow.

The rule for the highest current. A sheet does not say at which pressure it is drawn.

A table of the sheet, where it is given, replaces the classes' usual shares (`pump_table.py`).

* A pump without its own pressure switch is rated up to ``shutoff_pa``, and the highest
  current is taken as the current there: one operating point.
* A pump with a pressure switch stops itself at ``shutoff_pa``. Its highest current is only a
  bound (fuse and cable are chosen by it) and the switch may open before it is reached. If the
  bound is more than a rigid stroke needs, the stroke is taken as rigid and the current at the
  switch comes out below the bound. A bound that is too low is refused as above.

``max_pressure_pa`` says what the parts stand, and is no operating point in either case.
"""

from collections.abc import Iterator
from dataclasses import replace
from math import pi, sqrt
from typing import NoReturn

from rillsim.root import root
from rillsim.site import PumpSheet
from rillsim.water.diaphragm import DRY_FRICTION, Powers, Pump
from rillsim.water.pump_table import fit_table

__all__ = ["DRY_FRICTION", "ImpossiblePump", "Powers", "Pump", "fit_pump"]

VISCOUS_SHARE = 0.3
"""Part of the open-flow friction that grows with speed: from memory, class of pump."""
SLIP_SHARE = 0.03
"""Slip at the shut-off pressure over the flow there: from memory, class of pump."""
GIVE_MAX_PER_PA = 0.1e-5
"""Most elastic stroke of the class, 0.1 per bar: from memory."""
GIVE_MAX = 0.45
"""Largest part of the stroke lost at shut-off; at one half the torque stops rising."""
EFFICIENCY_MAX = 0.50
"""Overall, electric to hydraulic: no pump of this class does better (from memory)."""
WINDING_OHM = (0.08, 0.40)
"""Winding of the class at 12 V; it grows with the square of the voltage (from memory)."""
WINDING_DROP_SHARE = 0.10
"""Typical part of the voltage lost in the winding at open flow."""
RPM = (1200.0, 4000.0)
"""Speeds that a small brushed motor on an eccentric can run at (from memory)."""
RATED_V = (6.0, 48.0)
CLASS_PRESSURE_PA = 10.0e5
"""More than that is not offered as a way out: another class of pump (from memory)."""
TABLE_OFF_MAX = 0.08
"""A printed table is rounded, and read off a curve: common practice, no source."""
PSI_PA = 6894.757
ROUNDED = 1e-6
"""The same pressure in two units may differ by so much."""
_WINDINGS_TRIED = 41


class ImpossiblePump(ValueError):
    """A data sheet that no pump can meet; ``field`` names the figure."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


def _l_min(flow_m3_s: float) -> str:
    return f"{flow_m3_s * 60000.0:.3g} L/min"


def _bar(pressure_pa: float) -> str:
    return f"{pressure_pa / 1e5:.3g} bar ({pressure_pa / PSI_PA:.0f} psi)"


def _refuse(field: str, seen: str, why: str, possible: str) -> NoReturn:
    raise ImpossiblePump(
        field, f"{field} {seen} is impossible: {why}; {possible} would be possible"
    )


def _check_figures(sheet: PumpSheet) -> None:
    """Each figure by itself, and those that only have to be in order."""
    low_v, high_v = RATED_V
    if not low_v <= sheet.rated_v <= high_v:
        _refuse(
            "rated_v",
            f"{sheet.rated_v:g} V",
            "this is a battery pump",
            f"{low_v:g} to {high_v:g} V",
        )
    for field, value, unit in (
        ("open_flow_m3_s", sheet.open_flow_m3_s, "m3/s"),
        ("open_current_a", sheet.open_current_a, "A"),
        ("shutoff_pa", sheet.shutoff_pa, "Pa"),
        ("max_current_a", sheet.max_current_a, "A"),
    ):
        if not 0.0 < value < 1e9:
            _refuse(field, f"{value:g} {unit}", "it is not a figure", "a figure over 0")
    if not sheet.winding_ohm >= 0.0:
        _refuse(
            "winding_ohm", f"{sheet.winding_ohm:g} ohm", "it is negative", "0 (unknown) or more"
        )
    rpm = sheet.speed_rad_s * 30.0 / pi
    if not RPM[0] <= rpm <= RPM[1]:
        _refuse(
            "speed_rad_s",
            f"{sheet.speed_rad_s:g} rad/s ({rpm:.0f} rpm)",
            "such a motor does not run at that speed",
            f"{RPM[0]:.0f} to {RPM[1]:.0f} rpm",
        )
    if sheet.max_current_a <= sheet.open_current_a:
        _refuse(
            "max_current_a",
            f"{sheet.max_current_a:g} A",
            "current rises with pressure",
            f"anything over the open-flow current of {sheet.open_current_a:g} A",
        )
    if sheet.max_pressure_pa * (1.0 + ROUNDED) < sheet.shutoff_pa:
        _refuse(
            "max_pressure_pa",
            _bar(sheet.max_pressure_pa),
            "the pump itself reaches its shut-off pressure",
            f"{_bar(sheet.shutoff_pa)} or more",
        )


def _windings(sheet: PumpSheet) -> Iterator[float]:
    """Windings that could belong to this sheet, the typical one of the class first, [ohm]."""
    most = 0.5 * sheet.rated_v / sheet.max_current_a
    if sheet.winding_ohm > most:
        _refuse(
            "winding_ohm",
            f"{sheet.winding_ohm:g} ohm",
            f"{sheet.max_current_a:g} A would leave less than half of the"
            f" {sheet.rated_v:g} V to turn the motor",
            f"up to {most:.2g} ohm",
        )
    if sheet.winding_ohm > 0.0:
        yield sheet.winding_ohm
        return
    scale = (sheet.rated_v / 12.0) ** 2
    low, high = (min(most, scale * ohm) for ohm in WINDING_OHM)
    typical = WINDING_DROP_SHARE * sheet.rated_v / sheet.open_current_a
    typical = min(high, max(low, typical))
    yield typical
    step = (high - low) / (_WINDINGS_TRIED - 1)
    grid = [low + step * i for i in range(_WINDINGS_TRIED)]
    yield from sorted(grid, key=lambda ohm: abs(ohm - typical))


def _spare_w(sheet: PumpSheet, winding_ohm: float) -> float:
    """What the motor can give to pressure, at open-flow speed, [W]."""
    drop_v = (1.0 - VISCOUS_SHARE) * sheet.open_current_a * winding_ohm
    return (sheet.max_current_a - sheet.open_current_a) * (sheet.rated_v - drop_v)


def _stroke_loss(sheet: PumpSheet, winding_ohm: float) -> float:
    """kappa p at the shut-off pressure, [-]."""
    return 1.0 - _spare_w(sheet, winding_ohm) / (sheet.open_flow_m3_s * sheet.shutoff_pa)


def _build(sheet: PumpSheet, winding_ohm: float, stroke_loss: float) -> Pump:
    """The pump that passes through the points of the sheet."""
    speed = sheet.speed_rad_s
    motor = (sheet.rated_v - sheet.open_current_a * winding_ohm) / speed
    friction = motor * sheet.open_current_a
    viscous = VISCOUS_SHARE * friction / speed
    pump = Pump(
        winding_ohm=winding_ohm,
        motor_v_s=motor,
        friction_nm=friction - viscous * speed,
        viscous_nm_s=viscous,
        stroke_m3_rad=sheet.open_flow_m3_s / speed,
        give_per_pa=stroke_loss / sheet.shutoff_pa,
        slip_m3_s_pa=0.0,
    )
    flow = pump.operate(sheet.rated_v, 0.0, sheet.shutoff_pa)[2]
    return replace(pump, slip_m3_s_pa=SLIP_SHARE * flow / sheet.shutoff_pa)


def _best_efficiency(sheet: PumpSheet, pump: Pump) -> float:
    """Highest hydraulic over electric power up to the shut-off pressure."""
    best = 0.0
    for step in range(1, 21):
        balance = pump.powers(sheet.rated_v, 0.0, sheet.shutoff_pa * step / 20.0)
        best = max(best, balance.hydraulic / balance.electric)
    return best


def _refuse_point(sheet: PumpSheet, loss: float) -> NoReturn:
    """The highest current and the shut-off pressure do not belong together."""
    flow, over_a = sheet.open_flow_m3_s, sheet.max_current_a - sheet.open_current_a
    ohm = next(_windings(sheet))
    per_ampere_w = _spare_w(sheet, ohm) / over_a
    rigid_pa = per_ampere_w * over_a / flow
    top_pa = rigid_pa / (1.0 - GIVE_MAX)
    root = 1.0 - 4.0 * GIVE_MAX_PER_PA * rigid_pa
    if root > 0.0:
        top_pa = min(top_pa, (1.0 - sqrt(root)) / (2.0 * GIVE_MAX_PER_PA))
    give = min(GIVE_MAX, GIVE_MAX_PER_PA * sheet.shutoff_pa)
    most_a = sheet.open_current_a + flow * sheet.shutoff_pa / per_ampere_w
    least_a = most_a - give * (most_a - sheet.open_current_a)
    field = "shutoff_pa" if loss > 0.0 else "max_current_a"
    figure = _bar(sheet.shutoff_pa) if loss > 0.0 else f"{sheet.max_current_a:g} A"
    much = "less" if loss > 0.0 else "more"
    offer = f"{least_a:.3g} to {most_a:.3g} A at {_bar(sheet.shutoff_pa)}"
    if rigid_pa < CLASS_PRESSURE_PA:
        offer = f"{_bar(rigid_pa)} to {_bar(top_pa)} at {sheet.max_current_a:.3g} A, or {offer}"
    _refuse(
        field,
        figure,
        f"the {over_a:.3g} A between open flow ({_l_min(flow)}) and the highest current are"
        f" {much} power than {_bar(sheet.shutoff_pa)} takes",
        f"about {offer}",
    )


def _shutoff_efficiency(sheet: PumpSheet, winding_ohm: float) -> float:
    """Hydraulic over electric power at the highest current; pressure and flow cancel out."""
    volt, most_a = sheet.rated_v, sheet.max_current_a
    slowing = (volt - most_a * winding_ohm) / (volt - sheet.open_current_a * winding_ohm)
    spare_w = _spare_w(sheet, winding_ohm)
    return spare_w * slowing * (1.0 - SLIP_SHARE) / (volt * most_a)


def _refuse_efficiency(sheet: PumpSheet, efficiency: float, winding_ohm: float) -> NoReturn:
    """Too little of the current is left for friction."""
    at_shutoff = _shutoff_efficiency(sheet, winding_ohm)
    allowed = EFFICIENCY_MAX * min(1.0, at_shutoff / efficiency)

    def excess(open_current_a: float) -> float:
        trial = replace(sheet, open_current_a=open_current_a)
        return _shutoff_efficiency(trial, winding_ohm) - allowed

    least_a = root(excess, sheet.open_current_a, sheet.max_current_a)
    _refuse(
        "open_current_a",
        f"{sheet.open_current_a:g} A",
        f"with {sheet.max_current_a:g} A at most the pump would turn {100 * efficiency:.0f} %"
        f" of its electric power into water power, and no pump of this kind passes"
        f" {100 * EFFICIENCY_MAX:.0f} %",
        f"about {least_a:.3g} A or more",
    )


def _by_table(start: Pump, sheet: PumpSheet) -> Pump:
    """The pump of the sheet's table, where all its rows are those of one pump."""
    pump, off, place = fit_table(start, sheet)
    if off <= TABLE_OFF_MAX:
        return pump
    pressure_pa, _, _ = sheet.points[place]
    _refuse(
        "points",
        f"at {_bar(pressure_pa)}",
        f"the row is {100.0 * off:.0f} % beside the pump that the others give",
        f"rows within {100.0 * TABLE_OFF_MAX:.0f} % of one another's course",
    )


def fit_pump(sheet: PumpSheet) -> Pump:
    """The pump of a data sheet.

    Raises
    ------
    ImpossiblePump
        With one sentence: which figure, why, and what would be possible.

    Examples
    --------
    >>> pump = fit_pump(PumpSheet())
    >>> speed, current, flow = pump.operate(12.0, 0.0, 60.0 * 6894.757)
    >>> round(current, 6)
    17.0
    """
    _check_figures(sheet)
    limit = min(GIVE_MAX, GIVE_MAX_PER_PA * sheet.shutoff_pa)
    too_good: list[tuple[float, float]] = []
    for ohm in _windings(sheet):
        loss = _stroke_loss(sheet, ohm)
        if sheet.pressure_switch:
            loss = max(0.0, loss)
        if not 0.0 <= loss <= limit:
            continue
        pump = _build(sheet, ohm, loss)
        efficiency = _best_efficiency(sheet, pump)
        if efficiency <= EFFICIENCY_MAX:
            return _by_table(pump, sheet) if sheet.points else pump
        too_good.append((efficiency, ohm))
    ohm = next(_windings(sheet))
    if not too_good and _shutoff_efficiency(sheet, ohm) > EFFICIENCY_MAX:
        too_good.append((_shutoff_efficiency(sheet, ohm), ohm))
    if too_good:
        _refuse_efficiency(sheet, *min(too_good))
    _refuse_point(sheet, _stroke_loss(sheet, ohm))
