"""A site in the terms of EPANET 2.2 (wntr), to be solved by EPANET's own engine."""

from typing import Any

import numpy as np

from rillsim.site import Site
from rillsim.water.fittings import foot_valve_k
from rillsim.water.operating_point import Plumbing, Supply
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.pump import Pump

ENGINE_NU = 1.1e-5 * 0.3048**2
"""EPANET's own viscosity at 1.0: 1.1e-5 ft2/s."""


def epanet_network(wntr: Any, site: Site, supply: Supply, pump: Pump) -> Any:
    """The site as a network, its pump as 121 points; heads in metres of this site's water."""
    plumbing = Plumbing(site)
    water = plumbing.water
    weight = water.density_kg_m3 * GRAVITY_M_S2
    network = wntr.network.WaterNetworkModel()
    options = network.options.hydraulic
    options.headloss, options.accuracy, options.trials = "D-W", 1e-8, 500
    options.inpfile_units, options.emitter_exponent = "LPS", 0.5
    options.viscosity = water.viscosity_pa_s / water.density_kg_m3 / ENGINE_NU
    network.options.time.duration = 0
    lift, rise = site.water.lift_m, site.line.rise_m
    network.add_reservoir("POND", base_head=0.0)
    network.add_junction("PIN", base_demand=0, elevation=lift)
    network.add_junction("POUT", base_demand=0, elevation=lift)
    network.add_junction("EMIT", base_demand=0, elevation=lift + rise)
    spec, line = site.suction, site.line
    k = foot_valve_k(spec.foot_valve, spec.bore_m) + spec.strainer_k + spec.fittings_k
    network.add_pipe("SUCT", "POND", "PIN", spec.length_m, spec.bore_m, spec.roughness_m, k)
    network.add_pipe(
        "HOSE", "POUT", "EMIT", line.length_m, line.bore_m, line.roughness_m, line.fittings_k
    )
    series = supply.battery_ohm + supply.wiring_ohm
    curve = sorted(
        (pump.operate(supply.emf_v, series, head * weight)[2], float(head))
        for head in np.linspace(0.0, 80.0, 121)
    )
    shutoff = pump.dead_head_pa(supply.emf_v, series) / weight
    points = [(0.0, shutoff)] + [(q, h) for q, h in curve if q > 1e-7 and h < shutoff]
    network.add_curve("PC", "HEAD", points)
    network.add_pump("PUMP", "PIN", "POUT", "HEAD", "PC")
    emitter = plumbing.sprinkler.flow_m3_s(weight)
    network.get_node("EMIT").emitter_coefficient = emitter
    return network
