"""The readings that a site would give: its battery lives through the nights of the log.

Pressure and current are those of the operating point (`rillsim.water.operating_point`) at the
charge that is left; between the moments that are looked at the current goes on as it was.
"""

from dataclasses import dataclass

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
from rillkeeper.inquiry.learn.readings import Kind, Lived, Reading
from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit
from rillsim.water.operating_point import OperatingPoint, Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump

Floats = NDArray[np.float64]

_STEPS_S = 600.0
"""The current is worked out anew at least so often in a run."""


@dataclass(frozen=True)
class Model:
    """A site, the runs to live through, and the readings to give."""

    site: Site
    inputs: tuple[Input, ...]
    runs: tuple[Lived, ...]
    readings: tuple[Reading, ...]
    begun: tuple[float, ...]
    """Share of a full battery at the start of each charge, as far as the count tells."""

    @property
    def count(self) -> int:
        """How many parameters there are."""
        return len(self.inputs) + len(ASIDES) + len(self.begun)

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
        rig = _Rig(site, off[LIFT])
        found: list[float] = []
        place = 0
        for number, lived in enumerate(self.runs):
            here = place
            while place < len(self.readings) and self.readings[place].run == number:
                place += 1
            found += rig.live(lived, self.readings[here:place], begun[lived.charge])
        raw = np.array(found)
        pressure = np.array([r.kind is Kind.PRESSURE_PA for r in self.readings], dtype=bool)
        gain = np.where(pressure, 1.0 + off[PRESSURE_GAIN], 1.0 + off[VOLTAGE_GAIN])
        return np.asarray(raw * gain + np.where(pressure, off[PRESSURE_ZERO], 0.0))


class _Rig:
    """One site at work."""

    def __init__(self, site: Site, lift_off_m: float) -> None:
        self.site = site
        self.plumbing = Plumbing(site)
        self.pump = fit_pump(site.pump)
        self.battery = Battery(site.battery)
        self.cable = circuit(site.cable)
        self.board_ohm = self.cable.total_ohm - self.cable.relay_ohm
        self.lift_m = site.water.lift_m + lift_off_m

    def live(self, lived: Lived, readings: tuple[Reading, ...], begun: float) -> list[float]:
        """One run: what would be read at the moments that are asked for."""
        site = self.site
        if lived.new_charge:
            self.battery = Battery(site.battery, begun)
        battery = self.battery
        battery.step(site.board.asleep_a, lived.rest_s)
        lift_m = self.lift_m + site.water.fall_m_per_day * lived.days
        rest_v = battery.emf_v
        found: list[float] = []
        point = self._point(lift_m)
        now_s = 0.0
        for reading in readings:
            if reading.at_s <= 0.0:
                found.append(rest_v)
                continue
            if reading.at_s > now_s:
                self._pump(point, lift_m, reading.at_s - now_s)
                now_s = reading.at_s
                point = self._point(lift_m)
            if reading.kind is Kind.PRESSURE_PA:
                found.append(point.pump_pa)
            else:
                found.append(self._board_v(point))
        if lived.on_s > now_s:
            self._pump(point, lift_m, lived.on_s - now_s)
        return found

    def _pump(self, point: OperatingPoint, lift_m: float, span_s: float) -> None:
        """Go on for a while, with the current of the moment."""
        left_s = span_s
        while left_s > 0.0:
            part_s = min(left_s, _STEPS_S)
            self.battery.step(point.current_a + self.site.board.awake_a, part_s)
            left_s -= part_s
            if left_s > 0.0:
                point = self._point(lift_m)

    def _point(self, lift_m: float) -> OperatingPoint:
        supply = Supply.of(self.battery, self.site.cable)
        return operating_point(self.plumbing, self.pump, supply, lift_m)

    def _board_v(self, point: OperatingPoint) -> float:
        battery = self.battery
        current_a = point.current_a + self.site.board.awake_a
        return battery.emf_v - current_a * (battery.resistance_ohm + self.board_ohm)
