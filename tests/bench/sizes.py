"""Sites worked out against EPANET solving them once.

The like for like is the operating point: from a site's records to its flow. Sizing it whole
answers every question of the verdict: three states of the battery, coverage, wiring, nights on
a charge, the board's limits. EPANET solves the network alone, with a pump curve that is handed to
it; timed is all that wntr does to run it.
"""

import tempfile
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.facts import Facts, facts_of
from rillkeeper.site.file import demo_site
from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.water.operating_point import OperatingPoint, Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump
from tests.bench.table import Row, accuracy_row, ratio_row
from tests.bench.timing import Times, take_turns
from tests.published.epanet_network import epanet_network

GOAL = 1.0
AGREE_PERCENT = 1.0


def rows(sites: int = 10, repeats: int = 3) -> list[Row]:
    """The figures; without wntr, a row that says so."""
    try:
        import wntr
    except ImportError:
        return [Row("sizing against EPANET", "wntr is missing: pip install wntr==1.5.0 six")]
    chosen = [_site(number / sites) for number in range(sites)]
    networks = [_network(wntr, site) for site in chosen]
    sized: list[Facts] = []
    solved: list[Any] = []

    def size() -> None:
        sized[:] = [facts_of(site) for site in chosen]

    with tempfile.TemporaryDirectory() as folder:
        prefix = str(Path(folder) / "site")

        def epanet() -> None:
            solved[:] = [
                wntr.sim.EpanetSimulator(network).run_sim(file_prefix=prefix)
                for network in networks
            ]

        times = take_turns([lambda: _points(chosen), size, epanet], repeats)
    return _rows(sized, solved, times)


def _points(sites: list[Site]) -> list[OperatingPoint]:
    """The operating points, battery full: pump fitted and losses tabled anew for each."""
    return [
        operating_point(
            Plumbing(site), fit_pump(site.pump), Supply.of(Battery(site.battery), site.cable)
        )
        for site in sites
    ]


def _site(share: float) -> Site:
    """The demonstration site with a longer hose and a smaller nozzle, step by step."""
    site = demo_site()
    line = replace(site.line, length_m=20.0 + 40.0 * share)
    nozzle = replace(site.sprinkler, nozzle_bore_m=5.5e-3 - 1.0e-3 * share)
    return replace(site, line=line, sprinkler=nozzle)


def _network(wntr: Any, site: Site) -> Any:
    """The site with the battery half used, as the sizing has it."""
    work = WorkingSite(site)
    middle = work.middle
    supply = Supply(middle.emf_v, middle.ohm + work.wires.relay_ohm, 0.0)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Changing the headloss")
        return epanet_network(wntr, site, supply, work.pump)


def _rows(sized: list[Facts], solved: list[Any], times: list[Times]) -> list[Row]:
    count = len(sized)
    point, whole, theirs = times
    flows = [float(results.link["flowrate"]["PUMP"].iloc[0]) for results in solved]
    off = max(
        100.0 * abs(facts.flow_m3_s / flow - 1.0) for facts, flow in zip(sized, flows, strict=True)
    )
    return [
        ratio_row(
            f"{count} operating points; EPANET solves the same networks",
            _rate_text(point, count),
            _rate_text(theirs, count),
            point.middle_s / theirs.middle_s,
            GOAL,
        ),
        Row(
            "the same sites sized whole",
            _rate_text(whole, count),
            _rate_text(theirs, count),
            f"{whole.middle_s / theirs.middle_s:.2f}x",
        ),
        accuracy_row("flow of those sites against EPANET, the worst", off, AGREE_PERCENT),
    ]


def _rate_text(times: Times, count: int) -> str:
    return f"{count / times.middle_s:.0f} a second (spread {times.spread_percent:.0f} %)"
