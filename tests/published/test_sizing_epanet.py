"""What `rillkeeper size` works out, against the EPANET 2.2 engine: two dozen random sites."""

from pathlib import Path

import pytest

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.staircases import HOSE, HOSE_FITTINGS
from rillkeeper.design.size.workings import work_out
from rillsim.water.operating_point import Supply
from rillsim.water.properties import GRAVITY_M_S2
from tests.published.epanet_network import epanet_network
from tests.published.test_epanet_points import INLET_M, random_site

pytestmark = [pytest.mark.published, pytest.mark.epanet]

SITES = 24
CLOSE = 0.005


@pytest.mark.filterwarnings("ignore:Changing the headloss")
@pytest.mark.parametrize("seed", range(100, 100 + SITES))
def test_sized_site(seed: int, tmp_path: Path) -> None:
    """Flow, pressures and the staircase of head, with the battery half used.

    EPANET solves the same lines, nozzle and pump curve with its own friction law and solver.
    """
    wntr = pytest.importorskip("wntr", reason="wntr is missing; pip install wntr==1.5.0 six")
    site, _ = random_site(seed)
    found, work = work_out(site), WorkingSite(site)
    half = found.points.half
    assert half.fill > 0.999, "the suction must not limit this one"
    supply = Supply(work.middle.emf_v, work.middle.ohm, work.wires.relay_ohm)
    network = epanet_network(wntr, site, supply, work.pump)
    results = wntr.sim.EpanetSimulator(network).run_sim(file_prefix=str(tmp_path / "site"))
    weight = work.plumbing.water.density_kg_m3 * GRAVITY_M_S2
    pressure_m = results.node["pressure"].iloc[0]
    head_m = results.node["head"].iloc[0]
    where = f"random_site({seed})"
    flow = float(results.link["flowrate"].iloc[0]["PUMP"])
    assert found.facts.flow_m3_s == pytest.approx(flow, rel=CLOSE), where
    assert half.pump_pa / weight == pytest.approx(float(pressure_m["POUT"]), rel=CLOSE), where
    assert half.nozzle_pa / weight == pytest.approx(float(pressure_m["EMIT"]), rel=CLOSE), where
    assert half.inlet_pa / weight == pytest.approx(float(pressure_m["PIN"]), rel=0.0, abs=INLET_M)
    lost_m = float(head_m["POUT"] - head_m["EMIT"])
    hose_m = -sum(found.heads.gain_m(name) for name in (HOSE, HOSE_FITTINGS))
    assert hose_m == pytest.approx(lost_m, rel=0.03), where
