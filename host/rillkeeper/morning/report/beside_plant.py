"""Where plant and log tell different stories: what no board of this site could have known.

Only a replay has the plant's truth. A log from a garden has none, and nothing of this is said.
"""

from collections.abc import Iterator
from math import inf

import numpy as np

from rillkeeper.display_units import Shown, day_text, duration_text
from rillkeeper.morning.report.report import Report
from rillkeeper.runlog.nights import Night
from rillsim.garden.garden import NightTruth
from rillsim.garden.weather import DAY_S
from rillsim.replay import Trace

APART = 0.1
"""A share by which board and plant may differ and nothing is said: what its limits allow for."""
LITRES_MIN = 20.0
AH_MIN = 1.0
SPINS_A = 0.5
"""Of a pump that turns; the board's own draw is a hundredth of it."""
UNASKED_S_MIN = 60.0
EMPTY_SHARE = 0.05
BARE = 0.01
"""Share of what was stored: with less the strainer draws air."""


def beside_plant(report: Report) -> list[str]:
    """A sentence for each night in which the plant's truth is far from the board's count."""
    found: list[str] = []
    if report.trace is None:
        return found
    for night in report.nights:
        truth = report.truth_of(night)
        if truth is None:
            continue
        seen = _Window(report.trace, night.day - report.start_day)
        words = [*_of_water(night, truth, report.shown), *_of_charge(report, night, seen)]
        words += [*_of_source(report, seen), *_of_motor(seen)]
        if words:
            found.append(f"{day_text(night.day)}: {'; '.join(words)}.")
    return found


def _of_water(night: Night, truth: NightTruth, shown: Shown) -> Iterator[str]:
    counted = (night.given_ml or 0) / 1e3
    if abs(counted - truth.litres) > max(LITRES_MIN, APART * max(counted, truth.litres)):
        came = shown.text(truth.litres / 1e3, "volume")
        said = shown.text(counted / 1e3, "volume")
        if night.known:
            yield f"the board counted {said} of water, {came} came out of the sprinkler"
        else:
            yield f"{came} of water came out of the sprinkler, and the log tells nothing of it"


def _of_charge(report: Report, night: Night, seen: "_Window") -> Iterator[str]:
    counted = (night.used_mah or 0) / 1e3
    if night.known and abs(counted - seen.pump_ah) > max(
        AH_MIN, APART * max(counted, seen.pump_ah)
    ):
        said, took = (
            report.shown.text(amount_ah * 3600.0, "charge")
            for amount_ah in (counted, seen.pump_ah)
        )
        yield f"the board counted {said}, the pump took {took}"
    if seen.unasked_s > UNASKED_S_MIN:
        yield f"the pump worked for {duration_text(seen.unasked_s)} while it was switched off"
    promised = (night.nights_tenths or 0) / 10
    full_ah = report.site.battery.capacity_ah if report.site else 0.0
    if promised >= 1.0 and seen.last_ah < EMPTY_SHARE * full_ah:
        yield f"{promised:.1f} nights were promised, and the battery was empty"


def _of_motor(seen: "_Window") -> Iterator[str]:
    if seen.hot:
        yield "the motor got too hot and its own thermal cut-out opened"


def _of_source(report: Report, seen: "_Window") -> Iterator[str]:
    stored_m3 = report.site.water.stored_m3 if report.site else 0.0
    if seen.least_m3 < BARE * stored_m3:
        yield "the source was empty down to the strainer: refill it"


class _Window:
    """The plant's numbers of one night, noon to noon."""

    def __init__(self, trace: Trace, number: int) -> None:
        inside = (trace.t_s >= number * DAY_S) & (trace.t_s <= (number + 1) * DAY_S)
        t_s, current_a = trace.t_s[inside], trace.current_a[inside]
        spins = current_a > SPINS_A
        steps_s = np.diff(t_s, append=t_s[-1:])
        self.pump_ah = float(np.sum(current_a * steps_s)) / 3600.0
        self.unasked_s = float(np.sum(steps_s[spins & (trace.on[inside] < 0.5)]))
        self.hot = bool(trace.motor_hot[inside].any())
        self.least_m3 = float(trace.source_m3[inside].min()) if t_s.size else inf
        self.last_ah = float(trace.charge_ah[inside][-1]) if t_s.size else 0.0
