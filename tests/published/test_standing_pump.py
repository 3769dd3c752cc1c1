"""Water that runs through a standing pump, against the EPANET 2.2 engine.

The engine solves reservoir, lines and emitter on its own; the valves are a minor loss, their
springs a lower reservoir. What the valves of such a pump lose has no published figure.
"""

from pathlib import Path

import pytest

from rillsim.site import LineSpec, Site, SprinklerSpec, SuctionSpec, WaterSource
from rillsim.water.fittings import foot_valve_k
from rillsim.water.operating_point import Plumbing
from rillsim.water.pipe import bore_area_m2
from rillsim.water.properties import GRAVITY_M_S2
from rillsim.water.standing import OPENS_PA, StandingPump, flow_by_itself_m3_s
from tests.published.epanet_network import ENGINE_NU

pytestmark = [pytest.mark.published, pytest.mark.epanet]

SITES = (
    Site(water=WaterSource(lift_m=-3.0)),
    Site(water=WaterSource(lift_m=-4.0), line=LineSpec(length_m=80.0, bore_m=0.0127, rise_m=-2.0)),
    Site(
        water=WaterSource(lift_m=1.5, temperature_c=8.0),
        suction=SuctionSpec(length_m=12.0, bore_m=0.0127),
        line=LineSpec(rise_m=-9.0),
        sprinkler=SprinklerSpec(nozzle_bore_m=0.003, nozzle_count=2),
    ),
)


@pytest.mark.filterwarnings("ignore:Changing the headloss")
@pytest.mark.parametrize("site", SITES)
def test_flow_by_itself_agrees_with_epanet(site: Site, tmp_path: Path) -> None:
    wntr = pytest.importorskip("wntr")
    plumbing = Plumbing(site)
    water, suction, line = plumbing.water, site.suction, site.line
    weight = water.density_kg_m3 * GRAVITY_M_S2
    network = wntr.network.WaterNetworkModel()
    options = network.options.hydraulic
    options.headloss, options.accuracy, options.trials = "D-W", 1e-8, 500
    options.inpfile_units, options.emitter_exponent = "LPS", 0.5
    options.viscosity = water.viscosity_pa_s / water.density_kg_m3 / ENGINE_NU
    network.options.time.duration = 0
    network.add_reservoir("DAM", base_head=-OPENS_PA / weight)
    lift = site.water.lift_m
    network.add_junction("PUMP", base_demand=0, elevation=lift)
    network.add_junction("EMIT", base_demand=0, elevation=lift + line.rise_m)
    standing = StandingPump(plumbing.suction, site.pump.open_flow_m3_s)
    valves_pa = standing.loss_pa(1e-3) - OPENS_PA - plumbing.suction.loss_pa(1e-3)
    speed_head_pa = 0.5 * water.density_kg_m3 * (1e-3 / bore_area_m2(suction.bore_m)) ** 2
    k = foot_valve_k(suction.foot_valve, suction.bore_m) + suction.fittings_k
    k += suction.strainer_k + valves_pa / speed_head_pa
    bore, rough = suction.bore_m, suction.roughness_m
    network.add_pipe("SUCT", "DAM", "PUMP", suction.length_m, bore, rough, k)
    bore, rough = line.bore_m, line.roughness_m
    network.add_pipe("HOSE", "PUMP", "EMIT", line.length_m, bore, rough, line.fittings_k)
    network.get_node("EMIT").emitter_coefficient = plumbing.sprinkler.flow_m3_s(weight)
    solved = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(tmp_path / "dam"))
    flow = float(solved.link["flowrate"]["HOSE"].iloc[0])
    assert flow_by_itself_m3_s(site, plumbing) == pytest.approx(flow, rel=5e-3)
