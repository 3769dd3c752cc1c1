"""Fittings, valves and ends of a line: their losses in velocity heads."""

from fluids.fittings import (
    K_foot_valve_Crane,
)

from rillsim.water.pipe import bore_area_m2

CRANE_TURBULENT = (
    (0.5, 0.027),
    (0.75, 0.025),
    (1.0, 0.023),
    (1.25, 0.022),
    (1.5, 0.021),
    (2.0, 0.019),
)
"""Fully turbulent friction factor by nominal size in inches (Crane TP-410, p. A-26)."""

FITTING_K = {
    "globe valve": 10.0,
    "angle valve": 5.0,
    "swing check valve": 2.5,
    "gate valve": 0.2,
    "short elbow": 0.9,
    "medium elbow": 0.8,
    "long elbow": 0.6,
    "45 degree elbow": 0.4,
    "return bend": 2.2,
    "tee, straight through": 0.6,
    "tee, through branch": 1.8,
    "entrance": 0.5,
    "projecting entrance": 0.78,
    "exit": 1.0,
}
"""Losses in velocity heads (EPANET 2.2 User Manual, minor loss table; projecting entrance: Crane
TP-410, p. A-29)."""

_INCH_M = 0.0254


def minor_loss_pa(k: float, flow_m3_s: float, bore_m: float, density_kg_m3: float) -> float:
    r"""Pressure lost in fittings, :math:`\Delta p = K \rho v^2 / 2`, odd in the flow [Pa].

    >>> round(minor_loss_pa(2.0, 10 / 60000, 0.0127, 998.207))
    1728
    """
    speed = flow_m3_s / bore_area_m2(bore_m)
    return k * 0.5 * density_kg_m3 * speed * abs(speed)


def crane_turbulent_factor(bore_m: float) -> float:
    """Fully turbulent friction factor that Crane's L/D fittings refer to [-].

    Linear between the nominal sizes of the table and held beyond its ends; a hose is sold by
    its bore, so its bore is taken as the nominal size.

    >>> crane_turbulent_factor(0.75 * 0.0254)
    0.025
    """
    size_in = bore_m / _INCH_M
    lower_in, lower = CRANE_TURBULENT[0]
    for upper_in, upper in CRANE_TURBULENT:
        if size_in <= upper_in:
            if upper_in == lower_in:
                return upper
            share = (size_in - lower_in) / (upper_in - lower_in)
            return lower + share * (upper - lower)
        lower_in, lower = upper_in, upper
    return lower


def foot_valve_k(kind: str, bore_m: float) -> float:
    """Loss of a foot valve with its strainer, in velocity heads [-].

    Poppet disc 420 fT, hinged disc 75 fT; without a foot valve, the bare end of the hose as a
    projecting entrance (Crane TP-410, pp. A-28 and A-29).

    >>> round(foot_valve_k("poppet", 0.0254), 2)
    9.66
    """
    if kind == "none":
        return FITTING_K["projecting entrance"]
    styles = {"poppet": 0, "hinged": 1}
    if kind not in styles:
        raise ValueError(f'foot valve "{kind}" is not known; use "poppet", "hinged" or "none"')
    factor = crane_turbulent_factor(bore_m)
    return float(K_foot_valve_Crane(D=bore_m, fd=factor, style=styles[kind]))
