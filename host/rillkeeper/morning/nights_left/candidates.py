"""Batteries that a log may be about: each is drawn on as the log tells, and weighed against it.

The site file says what its owner thinks the battery is. Around that stand others: smaller and
larger, colder and warmer, not quite full at first. How well the rest voltage of each, and its
voltage at work, agree with the readings is its weight: Bayes' rule over a grid. What they all do
next is the prediction, and how far they part is its band.
"""

from dataclasses import dataclass, replace
from math import exp, log

from rillkeeper.runlog.runs import Run
from rillsim.site import BatterySpec
from rillsim.supply.battery import Battery

SIZES = (0.55, 0.62, 0.7, 0.78, 0.86, 0.93, 1.0, 1.07, 1.15)
"""Of the real battery, beside the one in the site file."""
SIZE_SPREAD = 0.15
"""How wrong owners are about the age and the label of a battery (common practice, no source)."""
CHARGES = (1.0, 0.95, 0.9, 0.85, 0.8, 0.75, 0.68, 0.61, 0.54, 0.46, 0.38)
"""Share of a full charge at the first run."""
CHARGED_SPREAD, COUNTED_SPREAD = 0.07, 0.15
"""How wrong the count is, just charged and later (common practice, no source)."""
WARMTHS_K = (-6.0, 0.0, 6.0)
WARMTH_SPREAD_K = 5.0
UNLIKELY = -5.0
READING_SPREAD_V = 0.025
"""A reading beside the model's, after the channel's own error (common practice, no source)."""
CHANNEL_SPREAD_V = 0.035
"""Error of the whole channel: resistors of 1 % in the divider (common practice, no source)."""
LEARN_S = 7.0
"""From the start until the board learns the supply's resistance: it primes, then waits 5 s."""
PART_MIN = 5
LONG_REST_S = 14 * 86400.0


@dataclass
class Candidate:
    """One battery that may be the real one, and how it has stood up to the readings."""

    battery: Battery
    log_prior: float
    readings: int = 0
    sum_v: float = 0.0
    sum_v2: float = 0.0

    def see(self, reading_v: float, model_v: float) -> None:
        """Hold a reading against what this battery would show."""
        off_v = reading_v - model_v
        self.readings += 1
        self.sum_v += off_v
        self.sum_v2 += off_v * off_v

    @property
    def _spread2(self) -> float:
        return READING_SPREAD_V**2 + self.readings * CHANNEL_SPREAD_V**2

    @property
    def log_weight(self) -> float:
        """Prior and likelihood together, the channel's own error integrated out."""
        noise2, channel2 = READING_SPREAD_V**2, CHANNEL_SPREAD_V**2
        chi2 = (self.sum_v2 - channel2 * self.sum_v**2 / self._spread2) / noise2
        return self.log_prior - 0.5 * (chi2 + log(self._spread2 / noise2))

    @property
    def channel_v(self) -> float:
        """The channel's error that suits this battery best [V]."""
        return CHANNEL_SPREAD_V**2 * self.sum_v / self._spread2


def candidates(spec: BatterySpec, charge: float, charged: bool) -> list[Candidate]:
    """Batteries around the site's that begin around this share of their charge."""
    spread = CHARGED_SPREAD if charged else COUNTED_SPREAD
    found = []
    for size in SIZES:
        for warmth_k in WARMTHS_K:
            for begun in CHARGES:
                log_prior = -0.5 * (
                    ((size - 1.0) / SIZE_SPREAD) ** 2
                    + (warmth_k / WARMTH_SPREAD_K) ** 2
                    + ((begun - charge) / spread) ** 2
                )
                if log_prior < UNLIKELY:
                    continue
                sized = spec.rated(spec.capacity_ah * size)
                real = replace(sized, temperature_c=spec.temperature_c + warmth_k)
                found.append(Candidate(Battery(real, begun), log_prior))
    return found


def weights(found: list[Candidate]) -> list[float]:
    """How likely each is; in all 1."""
    logs = [one.log_weight for one in found]
    highest = max(logs)
    raw = [exp(value - highest) for value in logs]
    total = sum(raw)
    return [value / total for value in raw]


def live_through(one: Candidate, run: Run, rest_s: float, idle_a: float) -> None:
    """Rest, then a run as the log has it, each reading held against the model's."""
    battery = one.battery
    battery.step(idle_a, min(rest_s, LONG_REST_S))
    rest_v = battery.emf_v
    if run.rest_mv is not None:
        one.see(run.rest_mv / 1000.0, rest_v)
    if not run.minutes:
        battery.step(_mean_a(run), float(run.stop.on_s if run.stop else 1))
        return
    first_a = run.minutes[0].current_ma / 1000.0
    battery.step(first_a, LEARN_S)
    learned_v = battery.terminal_v(first_a)
    last_a = first_a
    for place in range(0, len(run.minutes), PART_MIN):
        part = run.minutes[place : place + PART_MIN]
        last_a = sum(minute.current_ma for minute in part) / len(part) / 1000.0
        battery.step(last_a, 60.0 * len(part))
    _see_fall(one, run, rest_v, learned_v - battery.terminal_v(last_a))
    over_s = (run.stop.on_s if run.stop else 0) - LEARN_S - 60.0 * len(run.minutes)
    if over_s > 0.0:
        battery.step(last_a, over_s)


def _see_fall(one: Candidate, run: Run, rest_v: float, fall_v: float) -> None:
    """How far the voltage at work fell in this run; the wires' share cancels."""
    learned, last = run.learned, run.minutes[-1]
    if learned is None or last.battery_mv is None:
        return
    less_a = (learned.current_ma - last.current_ma) / 1000.0
    wires_v = less_a * learned.resistance_mohm / 1000.0
    fell_v = (learned.loaded_mv - last.battery_mv) / 1000.0 + wires_v
    one.see(learned.rest_mv / 1000.0 - fell_v, rest_v - fall_v)


def _mean_a(run: Run) -> float:
    """Current of a run too short for a minute's mean, as far as it is known."""
    return run.learned.current_ma / 1000.0 if run.learned else 0.0
