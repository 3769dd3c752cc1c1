r"""A diaphragm pump that stands: its valves open with the flow.

The valves of a diaphragm pump let water through from inlet to outlet and hold it the other way.
Nothing shuts them while the motor stands: a source that stands higher than the nozzle, or a line
that goes over a hump and down again (a siphon, once it is full), runs through them by itself.

.. math:: p_{in} - p_{out} = p_o + K \left(\frac{Q}{Q_0}\right)^2, \qquad
    K = 2 \rho g b

p_o opens the springs of both valves, Q_0 is the pump's open flow. Each valve is taken to lose as
much as the inlet valves do in :func:`rillsim.water.suction.npsh_required_m`, b at the open flow;
there the flow comes in pulses, here it is steady, so that more may run than is said here. The
nozzle takes most of the head as a rule. A pump that runs is not pushed along by this law: its
shaft gives the flow.

References
----------
.. [1] Bernoulli's law with losses in a row. Opening pressure and loss of the valves: common
   practice, no source.
"""

from rillsim.root import root
from rillsim.site import Site
from rillsim.water.operating_point import Plumbing
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.suction import NPSH_FLOW_M, Suction

OPENS_PA = 5e3
"""Both valves together hold back so much: the low end of 5 to 20 kPa (common practice, no
source)."""

OPENING_PA = 50.0
"""So far below that, a step of time may end with the valves open: it is told how they open."""
_FLOW_MAX = 10.0
"""Of the pump's open flow."""
_FLOW_TOLERANCE_M3_S = 1e-13
_PROBE_M3_S = 1e-8


class StandingPump:
    """Suction line and valves as one law of the pressure that pushes water through them."""

    __slots__ = ("_most_m3_s", "_suction", "_valves_pa_s2_m6", "stopped")

    def __init__(self, suction: Suction, open_flow_m3_s: float) -> None:
        self._suction = suction
        self._most_m3_s = _FLOW_MAX * open_flow_m3_s
        loss_pa = 2.0 * NPSH_FLOW_M * suction.water.density_kg_m3 * GRAVITY_M_S2
        self._valves_pa_s2_m6 = loss_pa / open_flow_m3_s**2
        self.stopped = suction.spec.stop_valve
        """A valve in the line closes with the pump."""

    def loss_pa(self, flow_m3_s: float, strainer_block: float = 0.0) -> float:
        """What suction line and valves take of the push at a forward flow [Pa]."""
        valves = OPENS_PA + self._valves_pa_s2_m6 * flow_m3_s * flow_m3_s
        return self._suction.loss_pa(flow_m3_s, strainer_block) + valves

    def flow_m3_s(self, push_pa: float, strainer_block: float = 0.0) -> tuple[float, float]:
        """Flow [m3/s], and its slope with the pressure at the outlet [m3/s per Pa].

        ``push_pa`` is the static pressure of the source at the pump less that at its outlet.
        """
        if self.stopped or push_pa <= OPENS_PA - OPENING_PA:
            return 0.0, 0.0

        def left_pa(flow: float) -> float:
            return push_pa - self.loss_pa(flow, strainer_block)

        flow = 0.0
        if left_pa(self._most_m3_s) >= 0.0:  # A trial step of a very stiff hose may push so.
            flow = self._most_m3_s
        elif push_pa > OPENS_PA:
            flow = root(left_pa, 0.0, self._most_m3_s, tolerance=_FLOW_TOLERANCE_M3_S)
        rise_pa = self.loss_pa(flow + _PROBE_M3_S, strainer_block)
        return flow, -_PROBE_M3_S / (rise_pa - self.loss_pa(flow, strainer_block))


def source_above_m(site: Site) -> float:
    """Height of the water over the nozzle, below zero where it stands lower; highest of the site.

    >>> from rillsim.site import LineSpec, WaterSource
    >>> source_above_m(Site(water=WaterSource(lift_m=-3.0), line=LineSpec(rise_m=1.0)))
    2.0
    """
    lowest = {"water.lift": site.water.lift_m, "line.rise": site.line.rise_m}
    lowest |= {one.key: one.low for one in site.ranges if one.key in lowest}
    return -lowest["water.lift"] - lowest["line.rise"]


def runs_by_itself(site: Site) -> bool:
    """True where nothing but the springs of the pump's valves holds the water back.

    The springs are not reckoned with: a grain of sand under a valve, or a hose that lies lower
    than its nozzle, and it runs.
    """
    return source_above_m(site) > 0.0 and not site.suction.stop_valve


def flow_by_itself_m3_s(site: Site, plumbing: Plumbing) -> float:
    """Flow through the standing pump out of the open nozzle, none where it is held back [m3/s].

    Examples
    --------
    A dam two metres above the nozzle of the default site: 5.4 m3 a day.

    >>> from rillsim.site import LineSpec, WaterSource
    >>> site = Site(water=WaterSource(lift_m=-3.0), line=LineSpec(rise_m=1.0))
    >>> round(flow_by_itself_m3_s(site, Plumbing(site)) * 86400, 1)
    5.4
    """
    standing = StandingPump(plumbing.suction, site.pump.open_flow_m3_s)
    path = plumbing.path()

    def left_pa(flow_m3_s: float) -> float:
        push_pa = path.inlet_pa(0.0) - path.outlet_pa(flow_m3_s)
        return push_pa - standing.loss_pa(flow_m3_s)

    if standing.stopped or left_pa(0.0) <= 0.0:
        return 0.0
    most_m3_s = _FLOW_MAX * site.pump.open_flow_m3_s
    return root(left_pa, 0.0, most_m3_s, tolerance=_FLOW_TOLERANCE_M3_S)
