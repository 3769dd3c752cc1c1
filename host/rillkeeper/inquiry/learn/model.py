"""The readings of a log, and those that a site would give: its battery lives through the nights.

A run that a rule stopped or that was cut short says what went wrong, not what the site is like:
it draws on the battery in the model too, but is not held against it.

Pressure and current are those of the operating point (`rillsim.water.operating_point`) at the
charge that is left; between the moments that are looked at the current goes on as it was.
"""

from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.learn.inputs import (
    ASIDES,
    BATTERY_OHM,
    CHARGE_LEAST,
    CHARGE_SPREAD,
    LIFT,
    PRESSURE_GAIN,
    PRESSURE_ZERO,
    VOLTAGE_GAIN,
    Input,
    site_at,
    with_battery_ohm,
)
from rillkeeper.runlog.batteries import CHARGED_JUMP_MAH
from rillkeeper.runlog.runs import Minute, Run
from rillkeeper.runlog.source import Sunk, sunk_along
from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit
from rillsim.water.operating_point import OperatingPoint, Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump

Floats = NDArray[np.float64]

RUNS_MAX = 40
"""The latest runs are enough, and an older site was another one."""
MINUTES_MIN = 3
DAY_S = 86400.0
LEARN_S = 7.0
"""From the closing of the relay: prime, and the board's wait before it learns the supply."""

_STEPS_S = 600.0
"""The current is worked out anew at least so often in a run."""


class Quantity(Enum):
    """What was read."""

    REST_V = "battery at rest"
    LOADED_V = "battery while pumping"
    PRESSURE_PA = "pressure at the outlet"


SPREADS = {Quantity.REST_V: 0.012, Quantity.LOADED_V: 0.012, Quantity.PRESSURE_PA: 0.006}
"""Deviation of a reading from a true model, in volts and as a share of the pressure. The noise of
the channels is far below: this is for what a model leaves out (common practice, no source)."""


@dataclass(frozen=True)
class Reading:
    """One number of the log."""

    run: int
    """Place among the runs that are lived through."""
    quantity: Quantity
    at_s: float
    """Since the relay closed; 0 is before."""
    value: float
    """In SI."""

    @property
    def spread(self) -> float:
        """Deviation that is usual."""
        share = self.quantity is Quantity.PRESSURE_PA
        return SPREADS[self.quantity] * (abs(self.value) if share else 1.0)


@dataclass(frozen=True)
class LivedRun:
    """One run as the model goes through it."""

    evidence: Run
    rest_s: float
    """Since the pump stopped before."""
    on_s: float
    sunk: Sunk
    """How far the source stood below its first."""
    charge: int
    """Counts the charges of the battery from 0."""
    new_charge: bool
    sound: bool
    """Whether it is held against the model."""


def runs_of(site: Site, evidence: tuple[Run, ...]) -> list[LivedRun]:
    """The latest runs, with what the model needs to live through them."""
    sunk = sunk_along(site, evidence)
    chosen = evidence[-RUNS_MAX:]
    found: list[LivedRun] = []
    for place, run in enumerate(chosen):
        before = chosen[place - 1] if place else None
        jumped = before is not None and run.left_mah > before.left_mah + CHARGED_JUMP_MAH
        rest_s = run.pause_s if place and run.pause_s is not None else DAY_S / 2.0
        found.append(
            LivedRun(
                evidence=run,
                rest_s=max(0.0, rest_s),
                on_s=float(run.stop.on_s) if run.stop else 60.0 * len(run.minutes),
                sunk=sunk[run.place],
                charge=(found[-1].charge if found else 0) + jumped,
                new_charge=place == 0 or jumped,
                sound=_sound(run),
            )
        )
    return found


def readings_of(runs: list[LivedRun]) -> list[Reading]:
    """Every reading of the sound runs, in the order in which they were made."""
    found: list[Reading] = []
    for place, lived in enumerate(runs):
        if not lived.sound:
            continue
        run = lived.evidence
        if run.rest_mv is not None:
            found.append(Reading(place, Quantity.REST_V, 0.0, run.rest_mv / 1000.0))
        if run.learned is not None:
            found.append(
                Reading(place, Quantity.LOADED_V, LEARN_S, run.learned.loaded_mv / 1000.0)
            )
        for minute in _looked_at(run):
            if minute.battery_mv is not None:
                volts = minute.battery_mv / 1000.0
                found.append(Reading(place, Quantity.LOADED_V, minute.since_s, volts))
            if minute.pressure_pa is not None:
                pressure = float(minute.pressure_pa)
                found.append(Reading(place, Quantity.PRESSURE_PA, minute.since_s, pressure))
    return found


def _sound(run: Run) -> bool:
    return (
        not run.trips
        and run.stop is not None
        and len(run.minutes) >= MINUTES_MIN
        and not run.again
    )


def _looked_at(run: Run) -> list[Minute]:
    """The second minute, the middle one and the last: between them all goes straight."""
    places = sorted({1, len(run.minutes) // 2, len(run.minutes) - 1})
    return [run.minutes[place] for place in places]


@dataclass(frozen=True)
class Model:
    """A site, the runs to live through, and the readings to give."""

    site: Site
    inputs: tuple[Input, ...]
    runs: tuple[LivedRun, ...]
    readings: tuple[Reading, ...]
    begun: tuple[float, ...]
    """Share of a full battery at the start of each charge, as far as the count tells."""

    @property
    def count(self) -> int:
        """How many parameters there are."""
        return len(self.inputs) + len(ASIDES) + len(self.begun)

    @cached_property
    def recorded(self) -> Floats:
        """The readings as they were made."""
        return np.array([reading.value for reading in self.readings])

    @cached_property
    def spreads(self) -> Floats:
        """Their deviations."""
        return np.array([reading.spread for reading in self.readings])

    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest of each parameter: what a site file may hold, and a whole battery."""
        free = [(-np.inf, np.inf)] * len(ASIDES)
        rows = [(one.z_of(one.low), one.z_of(one.high)) for one in self.inputs]
        charges = [
            ((CHARGE_LEAST - share) / CHARGE_SPREAD, (1.0 - share) / CHARGE_SPREAD)
            for share in self.begun
        ]
        low, high = np.array([*rows, *free, *charges]).T
        return low, high

    def values(self, z: Floats) -> dict[str, float]:
        """The inputs at these parameters, in the fields' own units."""
        return {one.key: one.value(float(z[n])) for n, one in enumerate(self.inputs)}

    def predict(self, z: Floats) -> Floats:
        """The readings at these parameters; those of the site file at 0."""
        asides = z[len(self.inputs) : len(self.inputs) + len(ASIDES)]
        off = [float(a) * aside.spread for a, aside in zip(asides, ASIDES, strict=True)]
        charges = z[len(self.inputs) + len(ASIDES) :]
        begun = [
            min(1.0, max(CHARGE_LEAST, share + CHARGE_SPREAD * float(c)))
            for share, c in zip(self.begun, charges, strict=True)
        ]
        site = with_battery_ohm(site_at(self.site, self.values(z)), 1.0 + off[BATTERY_OHM])
        at_work = _SiteAtWork(site, off[LIFT])
        found: list[float] = []
        place = 0
        for number, lived in enumerate(self.runs):
            here = place
            while place < len(self.readings) and self.readings[place].run == number:
                place += 1
            found += at_work.live(lived, self.readings[here:place], begun[lived.charge])
        raw = np.array(found)
        pressure = np.array(
            [r.quantity is Quantity.PRESSURE_PA for r in self.readings], dtype=bool
        )
        gain = np.where(pressure, 1.0 + off[PRESSURE_GAIN], 1.0 + off[VOLTAGE_GAIN])
        return np.asarray(raw * gain + np.where(pressure, off[PRESSURE_ZERO], 0.0))


@dataclass(frozen=True)
class _Lift:
    """Over a source that sinks while the pump draws from it."""

    first_m: float
    sunk: Sunk
    on_s: float

    def at_m(self, at_s: float) -> float:
        """Height of the pump over the water, so long after the relay closed [m]."""
        share = min(1.0, at_s / self.on_s) if self.on_s > 0.0 else 0.0
        return self.first_m + self.sunk.start_m + share * (self.sunk.end_m - self.sunk.start_m)


class _SiteAtWork:
    """One site at work."""

    def __init__(self, site: Site, lift_off_m: float) -> None:
        self.site = site
        self.plumbing = Plumbing(site)
        self.pump = fit_pump(site.pump)
        self.battery = Battery(site.battery)
        self.cable = circuit(site.cable, site.board.relays)
        self.board_ohm = self.cable.total_ohm - self.cable.relay_ohm
        self.lift_m = site.water.lift_m + lift_off_m

    def live(self, lived: LivedRun, readings: tuple[Reading, ...], begun: float) -> list[float]:
        """One run: what would be read at the moments that are asked for."""
        site = self.site
        if lived.new_charge:
            self.battery = Battery(site.battery, begun)
        battery = self.battery
        battery.step(site.board.asleep_a, lived.rest_s)
        lift = _Lift(self.lift_m, lived.sunk, lived.on_s)
        rest_v = battery.emf_v
        found: list[float] = []
        point = self._point(lift.at_m(0.0))
        now_s = 0.0
        for reading in readings:
            if reading.at_s <= 0.0:
                found.append(rest_v)
                continue
            if reading.at_s > now_s:
                self._pump(point, lift, now_s, reading.at_s)
                now_s = reading.at_s
                point = self._point(lift.at_m(now_s))
            if reading.quantity is Quantity.PRESSURE_PA:
                found.append(point.pump_pa)
            else:
                found.append(self._board_v(point))
        if lived.on_s > now_s:
            self._pump(point, lift, now_s, lived.on_s)
        return found

    def _pump(self, point: OperatingPoint, lift: "_Lift", from_s: float, to_s: float) -> None:
        """Go on for a while, with the current of the moment."""
        while from_s < to_s:
            part_s = min(to_s - from_s, _STEPS_S)
            self.battery.step(point.current_a + self.site.board.awake_a, part_s)
            from_s += part_s
            if from_s < to_s:
                point = self._point(lift.at_m(from_s))

    def _point(self, lift_m: float) -> OperatingPoint:
        supply = Supply.of(self.battery, self.site.cable)
        return operating_point(self.plumbing, self.pump, supply, lift_m)

    def _board_v(self, point: OperatingPoint) -> float:
        battery = self.battery
        current_a = point.current_a + self.site.board.awake_a
        return battery.emf_v - current_a * (battery.resistance_ohm + self.board_ohm)
