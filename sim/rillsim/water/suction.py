"""Suction line: lift and losses, what the pump can draw, priming, air and a leaking foot valve."""

from math import log, sqrt

from rillsim.root import root
from rillsim.site import SuctionSpec
from rillsim.water.fittings import foot_valve_k, minor_loss_pa
from rillsim.water.pipe import LineLoss, bore_area_m2
from rillsim.water.properties import GRAVITY_M_S2, Water, atmosphere_pa

NPSH_BASE_M = 2.5
NPSH_FLOW_M = 2.5
"""NPSH that a small diaphragm pump needs at rest, and what its open flow adds (set by one trade
fact: 20 ft of 1/2 in suction line shortens the throw by 3 % or more against 8 ft)."""

_NPSH3_POWER = log(2.0) / -log(0.97)
"""Blend in which the flow is 3 % short where NPSH available equals NPSH required (ISO 9906)."""

_BLOCK_MAX = 0.995
_FLOW_MAX = 10.0
"""Of the pump's open flow: there NPSH required is far over what any air pressure gives."""
_FLOW_TOLERANCE_M3_S = 1e-15
_AIR_DENSITY_KG_M3 = 1.2041
_HOLE_COEFFICIENT = 0.6


def npsh_required_m(flow_m3_s: float, open_flow_m3_s: float) -> float:
    r"""NPSH that a small diaphragm pump needs.

    .. math:: NPSH_r = a + b (Q / Q_0)^2

    Parameters
    ----------
    flow_m3_s : float
        Flow through the pump [m3/s]
    open_flow_m3_s : float
        Rated flow at no pressure [m3/s]

    Returns
    -------
    head : float
        Total head above vapour pressure at the inlet, absolute [m]

    Notes
    -----
    a opens the inlet valves, b fills the chambers in the time there is. Common practice, no
    source: makers of this class state a lift and no curve.

    The acceleration head of a reciprocating pump, L v n C / (g k) (Hydraulic Institute, from
    memory: C 0.066 for three chambers, k 1.4 to 2.5 for water), is not added. It is made for
    rigid pipe and slow cranks: at 2200 rpm it asks for 32 to 58 m of head on 8 ft of 1/2 in,
    which such pumps draw through every day, since the hose gives. So the trade's 10 ft of 1/2 in
    and 20 ft of 3/4 in do not come out of it, and a longest line is one for steady flow.

    Examples
    --------
    >>> npsh_required_m(3e-4, 3e-4)
    5.0
    """
    ratio = flow_m3_s / open_flow_m3_s
    return NPSH_BASE_M + NPSH_FLOW_M * ratio * ratio


def fill_ratio(displaced_m3_s: float, limit_m3_s: float) -> float:
    r"""Share of the displacement that water fills when the suction limits it.

    .. math:: \phi = \left(1 + (Q_d / Q_l)^n\right)^{-1/n}

    Parameters
    ----------
    displaced_m3_s : float
        Flow that the pump would draw from a flooded inlet [m3/s]
    limit_m3_s : float
        Flow at which NPSH available equals NPSH required [m3/s]

    Returns
    -------
    fill : float
        0 (runs free) to 1 (full) [-]

    Notes
    -----
    n = 22.76 makes the flow 3 % short at the limit itself. A chamber filled in part presses only
    for that part of its stroke: the mean torque is that of ``fill`` times the pressure rise.

    Examples
    --------
    >>> round(fill_ratio(2e-4, 2e-4), 4)
    0.97

    References
    ----------
    .. [1] ISO 9906:2012, NPSH3.
    """
    if displaced_m3_s <= 0.0:
        return 1.0
    if limit_m3_s <= 0.0:
        return 0.0
    ratio = displaced_m3_s / limit_m3_s
    if ratio > 100.0:
        return 1.0 / ratio
    return float((1.0 + ratio**_NPSH3_POWER) ** (-1.0 / _NPSH3_POWER))


class Suction:
    """One suction line in one water: from the strainer to the inlet of the pump."""

    __slots__ = (
        "_open_flow",
        "_strainer",
        "air_pa",
        "area_m2",
        "line",
        "spec",
        "volume_m3",
        "water",
    )

    def __init__(
        self,
        spec: SuctionSpec,
        water: Water,
        open_flow_m3_s: float,
        altitude_m: float = 0.0,
    ) -> None:
        self.spec = spec
        self.water = water
        self._open_flow = open_flow_m3_s
        self.air_pa = atmosphere_pa(altitude_m)
        self.area_m2 = bore_area_m2(spec.bore_m)
        self.volume_m3 = self.area_m2 * spec.length_m
        """Water in the full line."""
        self.line = LineLoss(
            spec.length_m,
            spec.bore_m,
            spec.roughness_m,
            foot_valve_k(spec.foot_valve, spec.bore_m) + spec.fittings_k,
            water.density_kg_m3,
            water.viscosity_pa_s,
        )
        self._strainer = minor_loss_pa(spec.strainer_k, 1.0, spec.bore_m, water.density_kg_m3)

    def loss_pa(self, flow_m3_s: float, strainer_block: float = 0.0) -> float:
        """Pressure lost between the source and the pump, odd in the flow [Pa].

        ``strainer_block`` is the share of the strainer that is blocked, 0 to 1: the same flow
        goes through what is left, so its loss grows as 1 / (1 - block)^2.
        """
        free = 1.0 - min(strainer_block, _BLOCK_MAX)
        strainer = self._strainer * flow_m3_s * abs(flow_m3_s) / (free * free)
        return self.line.loss_pa(flow_m3_s) + strainer

    def inlet_pressure_pa(
        self, flow_m3_s: float, lift_m: float, strainer_block: float = 0.0
    ) -> float:
        """Gauge pressure at the inlet, below zero when the pump lifts [Pa].

        Total pressure: a gauge on the line reads the velocity head less, some 1 to 2 kPa.
        """
        static = self.water.density_kg_m3 * GRAVITY_M_S2 * lift_m
        return -static - self.loss_pa(flow_m3_s, strainer_block)

    def npsh_available_m(
        self, flow_m3_s: float, lift_m: float, strainer_block: float = 0.0
    ) -> float:
        """Total head above vapour pressure at the inlet, absolute [m]."""
        inlet = self.air_pa + self.inlet_pressure_pa(flow_m3_s, lift_m, strainer_block)
        return (inlet - self.water.vapour_pa) / (self.water.density_kg_m3 * GRAVITY_M_S2)

    def npsh_required_m(self, flow_m3_s: float) -> float:
        """NPSH that the pump of this line needs at a flow [m]."""
        return npsh_required_m(flow_m3_s, self._open_flow)

    def flow_limit_m3_s(self, lift_m: float, strainer_block: float = 0.0) -> float:
        """Flow at which NPSH available falls to NPSH required; 0 where no flow can be drawn."""

        def margin_m(flow_m3_s: float) -> float:
            available_m = self.npsh_available_m(flow_m3_s, lift_m, strainer_block)
            return available_m - self.npsh_required_m(flow_m3_s)

        if margin_m(0.0) <= 0.0:
            return 0.0
        most_m3_s = _FLOW_MAX * self._open_flow
        return root(margin_m, 0.0, most_m3_s, tolerance=_FLOW_TOLERANCE_M3_S)

    def prime_rate_m3_s(
        self,
        filled_m3: float,
        displaced_m3_s: float,
        lift_m: float,
        dry_lift_m: float,
        air_leak_m3_s: float = 0.0,
    ) -> float:
        r"""Rate at which a running pump raises water in a line that holds air.

        .. math:: \frac{dV_w}{dt} = \frac{p Q_d \eta - p_a Q_a}{p + \rho g (h/V) V_a},
            \qquad \eta = 1 - \frac{p_m (p_a - p)}{p (p_a - p_m)}

        Parameters
        ----------
        filled_m3 : float
            Water in the line [m3]
        displaced_m3_s : float
            Displacement of the pump at its speed [m3/s]
        lift_m, dry_lift_m : float
            Height of the pump above the water, and the height it can prime from when dry [m]
        air_leak_m3_s : float
            Air drawn in through leaks, as free air [m3/s]

        Returns
        -------
        rate : float
            Rise of the water in the line; negative when the leak wins [m3/s]

        Notes
        -----
        Air above the column keeps its temperature; the line climbs evenly, so the column stands
        at p = pa - rho g h V_w/V. The pump moves air with the clearance of a compressor, set so
        that it gives out at its dry lift.

        References
        ----------
        .. [1] Isothermal volumetric efficiency with clearance, as for any reciprocating machine.
        """
        weight = self.water.density_kg_m3 * GRAVITY_M_S2
        pressure = self.air_pa - weight * lift_m * filled_m3 / self.volume_m3
        lowest = self.air_pa - weight * max(dry_lift_m, 1e-3)
        share = 1.0 - lowest * (self.air_pa - pressure) / (pressure * (self.air_pa - lowest))
        moved = pressure * displaced_m3_s * max(share, 0.0) - self.air_pa * air_leak_m3_s
        air_m3 = max(self.volume_m3 - filled_m3, 0.0)
        return moved / (pressure + weight * lift_m * air_m3 / self.volume_m3)

    def air_leak_m3_s(self, hole_m2: float, inlet_pa: float) -> float:
        r"""Free air that a hole in the line draws in [m3/s].

        .. math:: Q_a = C_d A \sqrt{2 \Delta p / \rho_a}

        Incompressible: 10 % high at half an atmosphere of suction.
        """
        if inlet_pa >= 0.0:
            return 0.0
        return _HOLE_COEFFICIENT * hole_m2 * sqrt(-2.0 * inlet_pa / _AIR_DENSITY_KG_M3)

    def water_share(self, flow_m3_s: float, air_leak_m3_s: float, inlet_pa: float) -> float:
        """Share of the drawn volume that is water when air comes with it, 0 to 1.

        The free air expands to the inlet pressure and takes up that much of each stroke.
        """
        if flow_m3_s <= 0.0:
            return 1.0
        drawn = air_leak_m3_s * self.air_pa / max(self.air_pa + inlet_pa, 1e3)
        return max(0.0, 1.0 - drawn / flow_m3_s)

    def drained_m3(
        self, filled_m3: float, lift_m: float, leak_m2: float, duration_s: float
    ) -> float:
        r"""Water left in an idle line whose foot valve leaks.

        .. math:: \sqrt{V} = \sqrt{V_0} - \frac{C_d a}{2} \sqrt{\frac{2 g h}{V_f}} \; t

        Parameters
        ----------
        filled_m3 : float
            Water in the line at the start [m3]
        lift_m : float
            Height of the pump above the water [m]
        leak_m2 : float
            Opening that the foot valve leaves [m2]
        duration_s : float
            Time that passes, of any length [s]

        Returns
        -------
        filled : float
            Water in the line after it [m3]

        Notes
        -----
        Torricelli's law over an evenly climbing column, with air let in at the pump.

        References
        ----------
        .. [1] Torricelli, E. (1644), De motu aquarum.
        """
        if lift_m <= 0.0:
            return filled_m3
        per_root = sqrt(2.0 * GRAVITY_M_S2 * lift_m / self.volume_m3)
        root = sqrt(filled_m3) - 0.5 * _HOLE_COEFFICIENT * leak_m2 * per_root * duration_s
        return root * root if root > 0.0 else 0.0
