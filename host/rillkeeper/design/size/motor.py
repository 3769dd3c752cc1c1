"""How warm the motor gets in a night, where the pump's sheet has a duty rating."""

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.water.motor_heat import highest_c

DAY_S = 86400


def motor_c(work: WorkingSite) -> float | None:
    """Highest winding temperature in a night of all the sets, [C]; None without a rating.

    Full battery, and the evening still as warm as an average day gets: both on the safe side.
    """
    site, point = work.site, work.full.point
    series_ohm = work.full.ohm + work.wires.relay_ohm
    balance = work.pump.powers(work.full.emf_v, series_ohm, point.pump_pa - point.inlet_pa)
    runs: list[tuple[float, float]] = []
    first_s = min((entry.start_s for entry in site.sets), default=0)
    ends_s = 0.0
    for entry in sorted(site.sets, key=lambda one: (one.start_s - first_s) % DAY_S):
        start_s = float((entry.start_s - first_s) % DAY_S)
        if runs:
            runs[-1] = (runs[-1][0], max(0.0, start_s - ends_s))
        run_s = work.pumping_s(entry) / entry.runs
        runs += [(run_s, float(entry.soak_s))] * entry.runs
        ends_s = start_s + entry.runs * run_s + (entry.runs - 1) * entry.soak_s
    loss_w = balance.winding + balance.friction + balance.viscous
    return highest_c(site.pump, runs, loss_w, site.weather.t_max_c)
