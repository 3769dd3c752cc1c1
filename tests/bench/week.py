"""A week at 10 Hz control against EPANET's own engine on the same hydraulics.

The week has control, battery, motor, sensors, garden and log; EPANET has the network alone,
solved once a second. What is timed of EPANET is all that wntr does to run it: the network is
written to a file, solved, and the results are read.

The bound is on one tick beside one step. Over the whole week the two do not do the same: there are
ten ticks a second here and one step there, and what EPANET solves is a steady network, the same
point anew each second, in C. What the bound is for: a plant that has grown much slower shows here
on any machine; ``week_beside`` tells by how much.
"""

import tempfile
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rillkeeper.design.limits.derive import settings_of
from rillsim.replay import TICKS_PER_S, Week, replay
from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.water.operating_point import Supply
from rillsim.water.pump import fit_pump
from tests.bench.steady_site import steady_site
from tests.bench.table import Row, each_text, ratio_row, seconds_text
from tests.bench.timing import Times, take_turns
from tests.published.epanet_network import epanet_network

EACH_GOAL = 4.0
"""A tick is 2.3 to 2.9 steps (measured on two days): half as much again is a plant that has grown
slower, not a busy machine."""
MINUTE_S = 60


@dataclass
class Runs:
    """What the two came to, besides the time they took."""

    week: Week | None = None
    results: Any = None


def rows(nights: int = 7, minutes: int = 60, repeats: int = 3) -> list[Row]:
    """The figures; without wntr, a row that says so."""
    try:
        import wntr
    except ImportError:
        return [Row("week against EPANET", "wntr is missing: pip install wntr==1.5.0 six")]
    site = steady_site(minutes)
    settings = settings_of(site)
    network = _network(wntr, site, nights * minutes * MINUTE_S)
    runs = Runs()

    def week() -> None:
        runs.week = replay(site, settings, nights=nights, seed=1)

    with tempfile.TemporaryDirectory() as folder:

        def epanet() -> None:
            simulator = wntr.sim.EpanetSimulator(network)
            runs.results = simulator.run_sim(file_prefix=str(Path(folder) / "site"))

        times = take_turns([week, epanet], repeats)
    return _rows(runs, times, nights * minutes * MINUTE_S)


def _network(wntr: Any, site: Site, seconds: int) -> Any:
    supply = Supply.of(Battery(site.battery), site.cable)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Changing the headloss")
        network = epanet_network(wntr, site, supply, fit_pump(site.pump))
    times = network.options.time
    times.duration = seconds
    times.hydraulic_timestep = times.report_timestep = times.quality_timestep = 1
    times.pattern_timestep = 3600
    return network


def _rows(runs: Runs, times: list[Times], seconds: int) -> list[Row]:
    assert runs.week is not None
    ours, theirs = times
    flow = runs.results.link["flowrate"]["PUMP"]
    ticks, steps = seconds * TICKS_PER_S, len(flow)
    litres = sum(night.litres for night in runs.week.truth)
    their_litres = float(flow.iloc[:-1].sum()) * 1000.0
    total = ours.middle_s / theirs.middle_s
    nights = runs.week.nights
    return [
        Row(
            f"{nights} nights, {ticks:,} pumping ticks; EPANET {steps:,} steps",
            seconds_text(ours),
            seconds_text(theirs),
            f"{total:.2f}x",
        ),
        ratio_row(
            "the same, each tick or step",
            each_text(ours, ticks),
            each_text(theirs, steps),
            total * steps / ticks,
            EACH_GOAL,
        ),
        Row(
            "water given, as a check (EPANET's battery stays full)",
            f"{litres:.0f} L",
            f"{their_litres:.0f} L",
            f"{100.0 * (litres / their_litres - 1.0):+.2f} %",
        ),
    ]
