"""What really is, for reports and tests; the board never sees it."""

from dataclasses import dataclass

from rillsim import ledger
from rillsim.rig import Rig
from rillsim.stepper import State


@dataclass(frozen=True)
class Truth:
    """The plant at one tick."""

    n: int
    pressure_pa: float
    """At the pump's outlet, gauge, as a transducer has it: with the wave of a snapped tap."""
    hose_pa: float
    """Mean of the hose."""
    nozzle_pa: float
    flow_m3_s: float
    """Through the hose to the sprinkler."""
    pumped_m3_s: float
    inlet_pa: float
    current_a: float
    """Of the pump."""
    board_v: float
    emf_v: float
    charge_ah: float
    soc: float
    rest_v: float
    throw_m: float
    filled_share: float
    """Share of the suction line that holds water."""
    sprinkled_m3: float
    """Through the sprinkler since tick 0."""
    pump_as: float
    """Charge that the pump has taken since tick 0."""
    board_as: float
    source_m3: float
    """Water above the strainer; endless where the source has no volume."""


def truth_at(rig: Rig, start: State, end: State, n: int, idle: bool, wave_pa: float) -> Truth:
    """Truth at a tick between two states: interpolated in motion, in closed form at rest.

    ``wave_pa`` is what a transducer reads beside the mean of the hose.
    """
    if idle and n != end.n:
        start = end = rig.stepper.rest(start, n - start.n) if n != start.n else start
    share = 1.0 if end.n == start.n else (n - start.n) / (end.n - start.n)

    def mixed(a: float, b: float) -> float:
        return a + share * (b - a)

    def total(place: int) -> float:
        return mixed(start.totals[place], end.totals[place])

    flow = mixed(start.flow_m3_s, end.flow_m3_s)
    hose = mixed(start.pressure_pa, end.pressure_pa)
    nozzle = rig.line.nozzle_pa(flow)
    battery = rig.stepper.battery
    battery.restore((end if share > 0.5 else start).battery)
    return Truth(
        n=n,
        pressure_pa=hose + wave_pa,
        hose_pa=hose,
        nozzle_pa=nozzle,
        flow_m3_s=flow,
        pumped_m3_s=mixed(start.point.flow_m3_s, end.point.flow_m3_s),
        inlet_pa=mixed(start.point.inlet_pa, end.point.inlet_pa),
        current_a=mixed(start.point.current_a, end.point.current_a),
        board_v=mixed(start.board_v, end.board_v),
        emf_v=mixed(start.emf_v, end.emf_v),
        charge_ah=battery.charge_ah,
        soc=battery.soc,
        rest_v=battery.rest_v,
        throw_m=rig.line.sprinkler.throw_m(nozzle),
        filled_share=max(mixed(start.filled_m3, end.filled_m3), 0.0) / rig.suction.volume_m3,
        sprinkled_m3=total(ledger.SPRINKLED),
        pump_as=total(ledger.PUMP_AS),
        board_as=total(ledger.BOARD_AS),
        source_m3=rig.store.left_m3(end.totals),
    )
