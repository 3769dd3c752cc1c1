"""Batteries that a log may be about: each is drawn on as the log tells, and weighed against it.

The site file says what its owner thinks the battery is. Around that stand others: smaller and
larger, colder and warmer, not quite full at first. How well the rest voltage of each, and its
voltage at work, agree with the readings is its weight: Bayes' rule over a grid. What they all do
next is the prediction, and how far they part is its band.

Nor is the acid the model's: in stronger acid a battery stands higher, and the less of it there is,
the faster the voltage falls with the charge taken. The error of the channel, which looks like
the first, and the steepness are fitted to each candidate's readings in closed form.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property
from math import exp, log, sqrt

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
READING_SPREAD_V = 0.012
"""A reading beside the model's, after the channel's own error (common practice, no source)."""
CHANNEL_SPREAD_V = 0.035
"""Error of the whole channel: resistors of 1 % in the divider (common practice, no source)."""
ACID_SPREAD_V = 0.08
"""So far a full lead battery stands from another: acid of 1.26 to 1.32, full, at 0.845 V under its
specific gravity a cell, is 0.36 V from end to end (Linden, from memory)."""
STEEP_SPREAD = 0.6
"""How much faster or slower a lead battery's voltage falls with the charge taken, as a share: a
published porous-electrode model falls 1.65 times as fast as the table of sealed batteries
(PyBaMM, Sulzer2019: tests/published/porous_battery.py)."""
STEEP_LEAST = 0.7
_FLAT_STEEP = 1e-4
"""A lithium battery has no acid, and a flat curve: its table holds."""
LEARN_S = 7.0
"""From the start until the board learns the supply's resistance: it primes, then waits 5 s."""
PART_MIN = 5
LONG_REST_S = 14 * 86400.0


@dataclass
class Candidate:
    """One battery that may be the real one, and how it has stood up to the readings."""

    battery: Battery
    log_prior: float
    wires_ohm: float = 0.0
    """By the last start: of the supply's resistance, what is not this battery's."""
    _off: list[tuple[float, float]] = field(default_factory=list)
    """Each reading less the model's, and how far its open voltage had fallen from full [V]."""

    @cached_property
    def full_v(self) -> float:
        """A full one at rest."""
        return Battery(self.battery.spec).rest_v

    def see(self, reading_v: float, model_v: float) -> None:
        """Hold a reading against what this battery would show as it is now."""
        self._off.append((reading_v - model_v, self.battery.open_v - self.full_v))
        self.__dict__.pop("_fitted", None)

    @cached_property
    def _fitted(self) -> tuple[float, float, float, float]:
        """Error of the channel [V], excess of the steepness and its deviation, and the logarithm
        of how likely the readings are, both integrated out: two lines of normal equations."""
        noise2 = READING_SPREAD_V**2
        lead = self.battery.spec.chemistry != "lfp"
        channel2 = CHANNEL_SPREAD_V**2 + (ACID_SPREAD_V**2 if lead else 0.0)
        steep2 = STEEP_SPREAD**2 if lead else _FLAT_STEEP**2
        ones = len(self._off) / noise2 + 1.0 / channel2
        cross = sum(fell for _, fell in self._off) / noise2
        fells = sum(fell * fell for _, fell in self._off) / noise2 + 1.0 / steep2
        off = sum(off for off, _ in self._off) / noise2
        off_fell = sum(off * fell for off, fell in self._off) / noise2
        det = ones * fells - cross * cross
        channel_v = (fells * off - cross * off_fell) / det
        excess = (ones * off_fell - cross * off) / det
        chi2 = sum(off * off for off, _ in self._off) / noise2
        chi2 -= channel_v * off + excess * off_fell
        likely = -0.5 * (chi2 + log(det * channel2 * steep2))
        return channel_v, excess, sqrt(ones / det), likely

    @property
    def log_weight(self) -> float:
        """Prior and likelihood together."""
        return self.log_prior + self._fitted[3]

    def channel_v(self, steep: float) -> float:
        """What the board reads beside this battery, from the last reading on [V]: where a real
        curve bends, the next reading is nearer to the last than to a straight line."""
        if not self._off:
            return 0.0
        off_v, fell_v = self._off[-1]
        return off_v - (steep - 1.0) * fell_v

    def steep(self, deviations: float = 0.0) -> float:
        """How many times as fast as the model's its voltage falls; or so much beside that."""
        _, excess, deviation, _ = self._fitted
        return max(STEEP_LEAST, 1.0 + excess + deviations * deviation)


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
    if run.learned is not None and run.learned.current_ma:
        sag_v = (run.learned.rest_mv - run.learned.loaded_mv) / 1000.0
        one.wires_ohm = sag_v / run.learned.current_ma * 1000.0 - (rest_v - learned_v) / first_a
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
