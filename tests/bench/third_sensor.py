"""What a third sensor would add: the pairs of causes that an ideal observer can part.

    python -m tests.bench.third_sensor

On three sites as their owners have them, and truths drawn around each (`tests.campaign.owned`),
a night is replayed sound and with each cause at a moderate severity (`why_weeks.FAULTS`, times
0.8 to 1.25). A cause is seen by what it changes against the sound night before it, at the same
charge: errors of file and sensors that stay as they are fall out, what is left is noise. The
observer knows, for each cause and site, mean and spread of the changes over the truths, as a
Gaussian, and names the likelier of two (likelihood ratio). A pair is parted where that is right
nine times of ten, each draw held against what the others of its site have taught.

Noise: pressure 0.6 % and volts 12 mV as in `learn`; prime, decay and noon rest as in `NOISE`; a
pulse meter 3 %, a shunt 2 % (common practice, no source). A float hangs half way down the cover of
the strainer, and the source falls further than that: so it tells by construction.
"""

from collections.abc import Iterator
from itertools import combinations
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillsim.replay import replay
from rillsim.site import FaultSpec, Site
from tests.bench.table import Row, table_lines
from tests.campaign.owned import file_of, truth_of
from tests.campaign.why_weeks import FAULTS, WITHIN

Floats = NDArray[np.float64]

SITES = (0, 1, 2)
TRUTHS = 12
DRAWS = 12
RIGHT = 0.9
TWO = ("pressure", "supply", "rest", "fall", "prime", "decay", "noon")
THIRDS = {"flow pulse meter": "flow", "current shunt": "current", "level float": "level"}
NOISE = {
    "pressure": 0.006,
    "supply": 0.0015,
    "rest": 0.012,
    "fall": 0.012,
    "prime": 0.2,
    "decay": 0.15,
    "noon": 0.012,
    "flow": 0.03,
    "current": 0.02,
    "level": 0.1,
}
"""Deviations: of logarithms (pressure, prime, decay, flow, current), volts, ohm, and in or out."""
CHANNELS = tuple(NOISE)
FLOAT_DEPTH = 0.5
"""Of the cover: so far down the float hangs."""
PARTS_COST = {"flow pulse meter": "low", "current shunt": "low", "level float": "lowest"}
_START_S = -8.0 * 3600.0


def seen(real: Site, thought: Site, seed: int, fault: FaultSpec | None) -> Floats | None:
    """What the channels read of a night, as numbers that noise adds to; None where it pumped less
    than three minutes: then the board's own words tell."""
    faults = (fault,) if fault else ()
    week = replay(real, settings_of(thought), nights=1, seed=seed, faults=faults, fast=True)
    night = nights_of(read_log(week.log), thought.board).nights[0]
    run = next((run for run in night.runs if len(run.minutes) >= 3 and run.learned), None)
    if run is None or run.learned is None:
        return None
    last, trace = run.minutes[-1], week.trace
    on = trace.on > 0.5
    volts = (last.battery_mv or 0) / 1000.0
    fallen_m = fault.severity if fault and fault.name == "source_falling" else 0.0
    learned = run.learned
    falls = {
        look["after_ms"]: look["pressure_pa"] for look in night.entries if look.kind == "decay"
    }
    values = {
        "pressure": log(max(last.pressure_pa or 1.0, 1.0)),
        "supply": (learned.rest_mv - learned.loaded_mv) / learned.current_ma,
        "rest": learned.rest_mv / 1000.0,
        "fall": learned.loaded_mv / 1000.0 - volts,
        "prime": log(max(run.prime_ms or 100, 100)),
        "decay": log(max(falls.get(500, 1), 3000.0)),
        "noon": (night.closing["rest_mv"] if night.closing else learned.rest_mv) / 1000.0,
        "flow": log(max(float(np.mean(trace.flow_m3_s[on])), 1e-7)),
        "current": log(max(float(np.mean(trace.current_a[on])), 0.1)),
        "level": float(fallen_m > FLOAT_DEPTH * real.water.cover_m),
    }
    return np.array([values[name] for name in CHANNELS])


def changes(place: int, truths: int) -> dict[str, list[Floats]]:
    """By cause: what it changes on each truth of a site, where the pump still ran."""
    thought = file_of(place)
    found: dict[str, list[Floats]] = {cause: [] for cause in FAULTS}
    for number in range(truths):
        seed = 1000 * place + number
        real = truth_of(thought, seed)
        sound = seen(real, thought, seed, None)
        if sound is None:
            continue
        rng = np.random.default_rng((seed, len(FAULTS)))
        for cause, (name, moderate) in FAULTS.items():
            severity = moderate * float(rng.uniform(*WITHIN))
            if name == "source_falling":
                severity *= real.water.cover_m
            if name.endswith("offset") and number % 2:
                severity = -severity
            now = seen(real, thought, seed, FaultSpec(name, 1, _START_S, severity))
            if now is not None:
                found[cause].append(now - sound)
    return found


def right(first: list[Floats], second: list[Floats], channels: list[int]) -> float:
    """How often the likelier of two causes is the true one, each draw left out in its turn.

    A change is read with the noise of two nights; the same draws of noise serve every choice of
    channels, so that a channel which tells nothing changes nothing.
    """
    noise = np.array([NOISE[CHANNELS[n]] for n in channels]) * 2.0**0.5
    sides = [np.array(side)[:, channels] for side in (first, second)]
    correct: list[bool] = []
    for truth, side in enumerate(sides):
        for place in range(len(side)):
            taught = [sides[0], sides[1]]
            taught[truth] = np.delete(side, place, axis=0)
            rng = np.random.default_rng((truth, place))
            for drawn in rng.standard_normal((DRAWS, len(CHANNELS)))[:, channels]:
                read = side[place] + noise * drawn
                likely = [_likelihood(read, each, noise) for each in taught]
                correct.append(likely[truth] > likely[1 - truth])
    return float(np.mean(correct))


def _likelihood(read: Floats, taught: Floats, noise: Floats) -> float:
    """Logarithm, of a Gaussian: the spread over the truths and severities, and the noise."""
    spread2 = np.cov(taught, rowvar=False) + np.diag(noise**2)
    off = read - taught.mean(axis=0)
    return float(-0.5 * (off @ np.linalg.solve(spread2, off) + np.linalg.slogdet(spread2)[1]))


def parted(truths: int = TRUTHS) -> dict[str, dict[tuple[str, str], float]]:
    """By what is fitted: how often each pair is told right, in the mean of the sites."""
    with_third = {"two sensors": list(TWO)}
    with_third |= {name: [*TWO, channel] for name, channel in THIRDS.items()}
    with_third["all three"] = list(CHANNELS)
    shares: dict[str, dict[tuple[str, str], list[float]]] = {name: {} for name in with_third}
    for place in SITES:
        found = changes(place, truths)
        for pair in combinations(FAULTS, 2):
            first, second = (found[cause] for cause in pair)
            if min(len(first), len(second)) < 4:
                continue
            for name, channels in with_third.items():
                numbers = [CHANNELS.index(channel) for channel in channels]
                shares[name].setdefault(pair, []).append(right(first, second, numbers))
    return {
        name: {pair: float(np.mean(each)) for pair, each in pairs.items()}
        for name, pairs in shares.items()
    }


def rows(truths: int = TRUTHS) -> Iterator[Row]:
    """One row for what is fitted, and the pairs that it parts and two sensors cannot."""
    shares = parted(truths)
    before = shares["two sensors"]
    for name, pairs in shares.items():
        apart = [pair for pair, share in pairs.items() if share >= RIGHT]
        new = sorted(
            (pair for pair in apart if before[pair] < RIGHT),
            key=lambda pair: before[pair] - pairs[pair],
        )
        yield Row(
            f"{name}: pairs parted",
            f"{len(apart)} of {len(pairs)}",
            PARTS_COST.get(name, "-"),
            f"{np.mean(list(pairs.values())):.3f} right",
        )
        for pair in new:
            yield Row(
                f"  {pair[0]} / {pair[1]}",
                f"{100.0 * pairs[pair]:.0f} %",
                f"two sensors: {100.0 * before[pair]:.0f} %",
            )
    for pair, share in sorted(before.items(), key=lambda item: item[1]):
        if share < RIGHT:
            told = ", ".join(f"{name} {100.0 * shares[name][pair]:.0f} %" for name in THIRDS)
            yield Row(f"not by two: {pair[0]} / {pair[1]}", f"{100.0 * share:.0f} %", told)


def main() -> None:
    """Measure, print."""
    print("\n".join(table_lines(list(rows()))))


if __name__ == "__main__":
    main()
