"""What `learn` says of sites that differ from their file in every input, drawn as expected."""

import numpy as np

from rillkeeper.errors import RillkeeperError
from rillkeeper.inquiry.learn import learn
from tests.bench.table import Row
from tests.host.inquiry.learn_cases import drawn, night_log, thought

INSIDE_GOAL = (0.55, 0.80)
"""Of a normal distribution 68 % lie within one deviation; some 150 values scatter by 4 %."""


def rows(sites: int = 24) -> list[Row]:
    """How many of the values lie within the stated spread, and what is told at all."""
    off: list[float] = []
    told: dict[str, list[bool]] = {}
    counted = 0
    for seed in range(sites):
        try:
            found = learn(thought(), night_log(seed, all_drawn=True))
        except RillkeeperError:  # So far off that the board hardly pumps.
            continue
        counted += 1
        real = drawn(seed)
        for one in found.inputs:
            off.append(abs(one.value - real[one.about.key]) / one.spread)
            told.setdefault(one.about.name, []).append(one.told)
    inside = float(np.mean(np.array(off) < 1.0))
    two = float(np.mean(np.array(off) < 2.0))
    often = ", ".join(name for name, shares in told.items() if np.mean(shares) > 0.5)
    low, high = INSIDE_GOAL
    return [
        Row(
            f"learn, {counted} drawn sites, 3 nights: real values within one and two deviations",
            f"{100.0 * inside:.0f} % and {100.0 * two:.0f} %",
            "normal: 68 % and 95 %",
            f"{len(off)} values",
            f"{100.0 * low:.0f} to {100.0 * high:.0f} %",
            low <= inside <= high,
        ),
        Row("  told by pressure and battery voltage", often),
    ]
