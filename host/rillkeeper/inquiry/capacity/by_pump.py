r"""The capacity out of the pump's own nights: what the board counted between rested voltages.

Before each night's first run the board takes the rested voltage. On one charge these fall with
what was counted in between. A line through them, with one slope for all charges of the log and an
own beginning for each, gives the capacity:

.. math:: s(U_i) = s_c - Q_i / C

The first look after a charge is left out: for hours a charger's surface charge stands on it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

from rillkeeper.display_units import counted
from rillkeeper.inquiry.capacity.measure import (
    SLOPE_SPREAD,
    TOO_WIDE,
    Capacity,
    NothingMeasured,
    share_of,
    share_spread,
)
from rillkeeper.runlog.runs import Run
from rillsim.site import Site
from rillsim.supply.chemistry import CHEMISTRY

RESTED_S = 12 * 3600.0
"""So long after the last run a voltage counts as rested (common practice, no source)."""
COUNTED_SPREAD, SENSED_SPREAD = 0.08, 0.03
"""Of the board's count: reckoned from the pressure, or with a current sensor (common practice, no
source)."""
_DAY_S = 86400.0
_MONTH_H = 30.0 * 24.0


@dataclass(frozen=True)
class Look:
    """One rested voltage."""

    charge: int
    """Which charge it belongs to."""
    drawn_ah: float
    """Since the first look of that charge."""
    share: float
    """Of a full charge, by the table."""


def from_nights(site: Site, runs: Sequence[Run]) -> Capacity:
    """The capacity of the site's battery. Raises NothingMeasured where the nights do not tell."""
    if not site.board.battery_fitted:
        raise NothingMeasured("the board does not read the battery's voltage; test it at home")
    if site.solar.power_w > 0.0:
        raise NothingMeasured("a panel puts in what no record tells; test the battery at home")
    kind = CHEMISTRY[site.battery.chemistry]
    looks = [look for charge in _charges(runs) for look in _looks(site, charge)]
    charges = {look.charge for look in looks}
    means = {
        charge: [sum(values) / len(values) for values in zip(*_of(looks, charge), strict=True)]
        for charge in charges
    }
    # About the mean of each charge: the sums of a straight line's least squares.
    across = [
        (look.drawn_ah - means[look.charge][0], look.share - means[look.charge][1])
        for look in looks
    ]
    drawn2 = sum(drawn * drawn for drawn, _ in across)
    fall = -sum(drawn * share for drawn, share in across)
    if drawn2 <= 0.0 or fall <= 0.0:
        raise NothingMeasured(
            f"{counted(len(looks), 'rested voltage')} in these nights, none lower than the one "
            "before: water three nights or more on one charge, or test the battery at home"
        )
    ah = drawn2 / fall
    wrong = share_spread(kind, sum(look.share for look in looks) / len(looks))
    by_volts = ah * wrong / sqrt(drawn2)
    count = SENSED_SPREAD if site.board.current_fitted else COUNTED_SPREAD
    spread = hypot(hypot(by_volts, count), SLOPE_SPREAD[kind.name])
    if spread > TOO_WIDE:
        raise NothingMeasured(
            "the rested voltages of these nights are too close together to tell the capacity "
            f"of this battery ({100 * spread:.0f} % unsure); use more of one charge, or test it "
            "to the end at home"
        )
    how = (
        f"{counted(len(looks), 'rested voltage')} on {counted(len(charges), 'charge')} of the log"
    )
    return Capacity(ah, ah * spread, how)


def _of(looks: Sequence[Look], charge: int) -> list[tuple[float, float]]:
    return [(look.drawn_ah, look.share) for look in looks if look.charge == charge]


def _charges(runs: Sequence[Run]) -> Iterator[list[Run]]:
    """The runs of each charge, in order."""
    for battery in sorted({run.battery for run in runs}):
        yield [run for run in runs if run.battery == battery]


def _looks(site: Site, runs: Sequence[Run]) -> Iterator[Look]:
    """The rested voltages of one charge, with what was drawn up to each."""
    kind = CHEMISTRY[site.battery.chemistry]
    own_a = site.board.asleep_a
    own_a += site.battery.capacity_ah * kind.self_discharge_per_month / _MONTH_H
    drawn_ah = 0.0
    for place, run in enumerate(runs):
        if place and run.pause_s is not None:
            drawn_ah += own_a * min(run.pause_s, 2 * _DAY_S) / 3600.0
            if run.rested and run.rest_mv is not None and run.pause_s >= RESTED_S:
                yield Look(run.battery, drawn_ah, share_of(kind, run.rest_mv / 1000.0))
        drawn_ah += run.stop.used_mah / 1000.0 if run.stop else 0.0
