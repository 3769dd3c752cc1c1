"""Pipe and hose: friction, and the fast loss table of one line."""

from functools import lru_cache
from math import pi

from fluids import friction

LAMINAR_RE = 2000.0
TURBULENT_RE = 4000.0
"""Ends of the transition: below, 64/Re; above, Colebrook (EPANET 2.2 User Manual, chapter 3)."""

_REYNOLDS_MAX = 4e5
_SPEED_MAX_M_S = 12.0
_LAMINAR_PIECES = 64
_GROWTH = 1.03
"""In a table each turbulent node lies at most this factor above the one before."""
_TABLES_KEPT = 256


def bore_area_m2(bore_m: float) -> float:
    """Cross section of a round bore [m2].

    >>> round(bore_area_m2(0.0127) * 1e6, 2)
    126.68
    """
    return 0.25 * pi * bore_m * bore_m


def friction_factor(reynolds: float, relative_roughness: float = 0.0) -> float:
    r"""Darcy friction factor of a round pipe.

    .. math:: f = 64/Re \quad (Re \le 2000); \qquad
        \frac{1}{\sqrt f} = -2\log_{10}\left(\frac{e/D}{3.7} + \frac{2.51}{Re\sqrt f}\right)
        \quad (Re \ge 4000)

    and between them the cubic that meets both in value and slope.

    Parameters
    ----------
    reynolds : float
        Reynolds number, above 0 [-]
    relative_roughness : float
        Roughness over bore, 0 to 0.05 [-]

    Returns
    -------
    factor : float
        Darcy friction factor [-]

    Notes
    -----
    EPANET bridges 2000 to 4000 with a cubic of the same kind; flow there is unsettled in nature
    and no formula is good to more than some 20 %. Colebrook is solved by ``fluids``.

    Examples
    --------
    >>> round(friction_factor(1e5, 1e-3), 6)
    0.022175

    References
    ----------
    .. [1] Colebrook, C. F. (1939), J. Inst. Civil Eng. 11(4), 133-156.
    .. [2] Rossman, L. (2020), EPANET 2.2 User Manual, EPA/600/R-20/133.
    """
    if reynolds <= LAMINAR_RE:
        return 64.0 / reynolds
    if reynolds >= TURBULENT_RE:
        return float(friction.Clamond(reynolds, relative_roughness))
    start, end, end_slope = _bridge_ends(relative_roughness)
    span = TURBULENT_RE - LAMINAR_RE
    s = (reynolds - LAMINAR_RE) / span
    start_slope = -start / LAMINAR_RE
    return (
        start * (1.0 + 2.0 * s) * (1.0 - s) ** 2
        + start_slope * span * s * (1.0 - s) ** 2
        + end * s * s * (3.0 - 2.0 * s)
        + end_slope * span * s * s * (s - 1.0)
    )


@lru_cache(_TABLES_KEPT)
def _bridge_ends(relative_roughness: float) -> tuple[float, float, float]:
    """Laminar value, Colebrook value and Colebrook slope at the ends of the transition."""
    low, end, high = (
        float(friction.Clamond(TURBULENT_RE + step, relative_roughness))
        for step in (-1.0, 0.0, 1.0)
    )
    return 64.0 / LAMINAR_RE, end, 0.5 * (high - low)


def friction_loss_pa(
    flow_m3_s: float,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> float:
    r"""Pressure lost to friction in a straight pipe.

    .. math:: \Delta p = f \frac{L}{D} \frac{\rho v^2}{2}

    Parameters
    ----------
    flow_m3_s : float
        Flow; a negative flow has a negative loss [m3/s]
    length_m, bore_m, roughness_m : float
        Length, inside diameter and wall roughness [m]
    density_kg_m3, viscosity_pa_s : float
        Of the water [kg/m3], [Pa s]

    Returns
    -------
    loss : float
        Pressure loss [Pa]

    Examples
    --------
    >>> round(friction_loss_pa(10 / 60000, 30.0, 0.0127, 1.5e-6, 998.207, 1.0016e-3), -1)
    55750.0

    References
    ----------
    .. [1] Darcy (1857) and Weisbach (1845), as in Crane TP-410, eq. 1-4.
    """
    if flow_m3_s == 0.0:
        return 0.0
    speed = abs(flow_m3_s) / bore_area_m2(bore_m)
    factor = friction_factor(density_kg_m3 * speed * bore_m / viscosity_pa_s, roughness_m / bore_m)
    loss = factor * length_m / bore_m * 0.5 * density_kg_m3 * speed * speed
    return loss if flow_m3_s > 0.0 else -loss


def hose_compliance_m3_pa(
    length_m: float, bulk_modulus_pa: float, bore_m: float, wall_m: float, modulus_pa: float
) -> float:
    r"""Water that a filled hose takes up for each pascal.

    .. math:: C = L A \left(\frac{1}{K} + \frac{D}{E e}\right)

    Parameters
    ----------
    length_m, bore_m, wall_m : float
        Length, inside diameter and wall thickness [m]
    bulk_modulus_pa, modulus_pa : float
        Of the water and of the wall [Pa]

    Returns
    -------
    compliance : float
        Volume over pressure [m3/Pa]

    Examples
    --------
    >>> round(hose_compliance_m3_pa(30.0, 2.19e9, 0.0127, 0.0025, 20e6) * 1e6 * 1e5, 1)
    96.7

    References
    ----------
    .. [1] Wylie, E. B. and Streeter, V. L. (1993), Fluid Transients in Systems, chapter 2.
    """
    stretch = 1.0 / bulk_modulus_pa + bore_m / (modulus_pa * wall_m)
    return length_m * bore_area_m2(bore_m) * stretch


@lru_cache(_TABLES_KEPT)
def _pieces(
    length_m: float,
    bore_m: float,
    roughness_m: float,
    k_sum: float,
    density: float,
    viscosity: float,
) -> tuple[list[tuple[float, float]], float]:
    """The straight pieces of a line's loss over its flow, and how wide each is [m3/s].

    Kept: a site that is tried with another battery, lift or nozzle has the same hose.
    """
    area = bore_area_m2(bore_m)
    per_reynolds = viscosity * area / (density * bore_m)
    top = max(_SPEED_MAX_M_S * area / per_reynolds, 2.0 * TURBULENT_RE)
    step = LAMINAR_RE / _LAMINAR_PIECES * per_reynolds
    fittings = k_sum * 0.5 * density / (area * area)

    def over_flow(index: int) -> float:
        flow = index * step
        loss = friction_loss_pa(flow, length_m, bore_m, roughness_m, density, viscosity)
        return loss / flow

    laminar = (over_flow(_LAMINAR_PIECES), fittings)
    pieces = [laminar] * _LAMINAR_PIECES
    last = int(min(top, _REYNOLDS_MAX) * per_reynolds / step)
    low, low_value = _LAMINAR_PIECES, laminar[0]
    while low < last:
        high = low + 1
        if low * step >= TURBULENT_RE * per_reynolds:
            high = max(high, int(low * _GROWTH))
        high_value = over_flow(high)
        slope = (high_value - low_value) / ((high - low) * step)
        pieces += [(low_value - slope * low * step, slope + fittings)] * (high - low)
        low, low_value = high, high_value
    return pieces, step


class LineLoss:
    r"""Loss of one line against flow, as a table that costs a lookup.

    .. math:: \Delta p = Q (a_i + b_i |Q|)

    Friction over flow is nearly straight, so each piece keeps a constant and a slope of it;
    laminar friction (b = 0) and the fittings (a = 0) are exact in this form. Between nodes
    the error stays below 0.05 % of Colebrook. Beyond the last node the last piece goes on.
    """

    __slots__ = ("_last", "_per_flow", "_pieces", "flow_max_m3_s", "inertia_kg_m4")

    def __init__(
        self,
        length_m: float,
        bore_m: float,
        roughness_m: float,
        k_sum: float,
        density: float,
        viscosity: float,
    ) -> None:
        area = bore_area_m2(bore_m)
        self._pieces, step = _pieces(length_m, bore_m, roughness_m, k_sum, density, viscosity)
        self._last = len(self._pieces) - 1
        self._per_flow = 1.0 / step
        self.flow_max_m3_s = len(self._pieces) * step
        """End of the table; beyond it the loss is extrapolated."""
        self.inertia_kg_m4 = density * length_m / area
        """Pressure that accelerates the flow by 1 m3/s each second."""

    def loss_pa(self, flow_m3_s: float) -> float:
        """Pressure loss at a flow, odd in the flow [Pa]."""
        if flow_m3_s >= 0.0:
            index = int(flow_m3_s * self._per_flow)
            a, b = self._pieces[index if index < self._last else self._last]
            return flow_m3_s * (a + b * flow_m3_s)
        index = int(-flow_m3_s * self._per_flow)
        a, b = self._pieces[index if index < self._last else self._last]
        return flow_m3_s * (a - b * flow_m3_s)

    def slope(self, flow_m3_s: float) -> float:
        """Derivative of the loss by the flow, even in the flow [Pa s/m3]."""
        flow = abs(flow_m3_s)
        index = int(flow * self._per_flow)
        a, b = self._pieces[index if index < self._last else self._last]
        return a + 2.0 * b * flow
