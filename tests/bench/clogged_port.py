"""What a flow meter is worth where silt has closed the transducer's port: `python -m
tests.bench.clogged_port` (2 min).

On drawn sites the port clogs early in a run, and in the middle of it the source goes dry, or a tap
is shut: how long the pump then turned on air, or stood above its rating, by the plant's truth.
"""

import sys
from itertools import islice

from tests.campaign.night import run_night
from tests.campaign.phases import NOTHING, place, row_of, sites_from, sound_offset_s, spec_of

FIRST, SITES = 91000007, 3
METER = frozenset({"flow_fitted"})
TROUBLES = {"source_empty": "dry_s", "outlet_shut": "over_s"}
"""What happens behind the clogged port, and what the plant counts of it."""


def seconds(seed: int, trouble: str, needs: frozenset[str]) -> float:
    """How long the pump was at it [s]."""
    at = place(seed, needs)
    told = run_night(
        at.site,
        at.settings,
        seed,
        (
            spec_of("pressure_port_clogged", sound_offset_s(at.sound, "early run")),
            spec_of(trouble, sound_offset_s(at.sound, "mid run")),
        ),
        since=-2,
    )
    return float(row_of(at, told, 0.0)["toll"].get(TROUBLES[trouble], 0.0))


def main() -> None:
    """A line a site and trouble."""
    for seed in islice(sites_from(FIRST), SITES):
        for trouble, counted in TROUBLES.items():
            without, beside = (seconds(seed, trouble, needs) for needs in (NOTHING, METER))
            print(
                f"{seed} {trouble} {counted}: {without:.0f} without a meter, {beside:.0f} with one"
            )
            sys.stdout.flush()


if __name__ == "__main__":
    main()
