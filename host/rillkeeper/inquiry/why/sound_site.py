"""What the sound site should have shown: its pressure at a voltage, its battery after a charge.

The board's voltage is taken before the relay contact, behind battery, clamps, fuse and cable:
with it measured, the water's side no longer depends on the battery. The battery is led through
the runs that were recorded: charge goes out as the board counted it, minute by minute, and time
passes as the log tells.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.runlog.runs import Run
from rillsim.site import Site
from rillsim.supply.battery import Battery
from rillsim.supply.cable import circuit
from rillsim.water.operating_point import Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump

Floats = NDArray[np.float64]

_STEPS = 12
_VOLTS = (0.75, 1.35)
"""From a pump that hardly turns to a charger left on, in parts of the rated voltage."""
NIGHT_TO_NIGHT_S = 22 * 3600.0
"""Taken for the rest before a night where the clock was lost."""
SOAK_S = 900.0
"""The same between two runs of a night."""
_LEARN_S = 5.0
_SHORT_S = 20.0


class NormalPressure:
    """Outlet pressure, flow and current as functions of the voltage at the board, tabled once."""

    def __init__(self, site: Site) -> None:
        low, high = (share * site.pump.rated_v for share in _VOLTS)
        low = max(low, site.pump.minimum_v)
        self._volts: Floats = np.linspace(low, high, _STEPS)
        plumbing, pump = Plumbing(site), fit_pump(site.pump)
        contact_ohm = circuit(site.cable, site.board.relays).relay_ohm
        points = [
            operating_point(plumbing, pump, Supply(float(v), 0.0, contact_ohm))
            for v in self._volts
        ]
        self._pressures: Floats = np.array([point.pump_pa for point in points])
        self._flows: Floats = np.array([point.flow_m3_s for point in points])
        self._currents: Floats = np.array([point.current_a for point in points])

    def at(self, volts: float) -> float:
        """Outlet pressure at this voltage [Pa]; beyond the table it goes on straight."""
        return self._read(self._pressures, volts)

    def flow_at(self, volts: float) -> float:
        """What is pumped at this voltage [m3/s]; beyond the table it goes on straight."""
        return self._read(self._flows, volts)

    def current_at(self, volts: float) -> float:
        """What the pump takes at this voltage [A]; beyond the table it goes on straight."""
        return self._read(self._currents, volts)

    def _read(self, table: Floats, volts: float) -> float:
        table_v = self._volts
        if volts < table_v[0] or volts > table_v[-1]:
            end = slice(0, 2) if volts < table_v[0] else slice(-2, None)
            (v0, v1), (low, high) = table_v[end], table[end]
            return float(low + (volts - v0) * (high - low) / (v1 - v0))
        return float(np.interp(volts, table_v, table))


@dataclass(frozen=True)
class ExpectedSupply:
    """What battery and wiring should show in one run."""

    charge: float
    """Share of its charge at the start, 0 to 1."""
    rest_v: float
    learned_ohm: float
    """Sag over current some seconds after prime."""
    sag_v: float
    """The same in volts."""
    ohmic_ohm: float
    """What comes back at once when the pump stops."""
    fall_v: float | None
    """From the first minute to the last; None where there are not two."""


BatteryChange = Callable[[Battery], Battery]
"""A rested battery made into another one of the same charge."""


class SupplyCourse:
    """Battery and wiring of the site as it was meant, or with another battery in its place."""

    def __init__(
        self,
        site: Site,
        settings: dict[str, int],
        change: BatteryChange | None = None,
        charged_in_place: bool = False,
    ) -> None:
        self._site = site
        self._change = change
        self._charged_in_place = charged_in_place or site.solar.power_w > 0.0
        wires = circuit(site.cable, site.board.relays)
        self._wiring_ohm = wires.total_ohm - wires.relay_ohm
        self._capacity_mah = settings["capacity_mah"]
        zero_ma, per_bar = settings["current_zero_ma"], settings["current_ma_per_bar"]
        self._normal_a = (zero_ma + settings["normal_pa"] / 1e5 * per_bar) / 1e3
        self._battery = Battery(site.battery)

    def put_on(self, left_mah: int, charge: float | None = None) -> None:
        """A battery comes, with what the board counts in it, or with a charge that is known."""
        full = Battery(self._site.battery)
        if charge is None:
            taken_ah = max(self._capacity_mah - left_mah, 0) / 1e3
            charge = max(0.05, 1.0 - taken_ah / full.charge_ah)
        battery = Battery(self._site.battery, charge)
        self._battery = self._change(battery) if self._change else battery

    def along(self, runs: Sequence[Run], charge: float | None = None) -> list[ExpectedSupply]:
        """Through all runs, from battery to battery.

        ``charge`` is what was in the first one, where that is known. One that was not taken off
        the board goes on as it was, unless there is a panel or ``charged_in_place``: that its
        rest voltage went up may be the reading's fault.
        """
        found = []
        on = -1
        for place, run in enumerate(runs):
            new = run.battery != on and (on < 0 or self._charged_in_place or not run.stands)
            if new:
                self.put_on(run.left_mah, None if place else charge)
            on = run.battery
            found.append(self.follow(run, 0.0 if new else run.pause_s))
        return found

    def follow(self, run: Run, pause_s: float | None) -> ExpectedSupply:
        """Rest up to the run, then pump as it did."""
        battery = self._battery
        if pause_s is None:
            pause_s = NIGHT_TO_NIGHT_S if run.rested else SOAK_S
        battery.step(self._site.board.asleep_a, pause_s)
        charge, rest_v = battery.soc, battery.emf_v
        prime_s = 2.0 if run.prime_ms is None else run.prime_ms / 1e3
        current_a = self._current_a(run)
        battery.step(current_a, prime_s + _LEARN_S)
        learned_ohm = (rest_v - battery.emf_v) / current_a + battery.resistance_ohm
        fall_v = self._pump(run, prime_s + _LEARN_S)
        return ExpectedSupply(
            charge,
            rest_v,
            learned_ohm + self._wiring_ohm,
            current_a * (learned_ohm + self._wiring_ohm),
            battery.resistance_ohm + self._wiring_ohm,
            fall_v,
        )

    def _pump(self, run: Run, done_s: float) -> float | None:
        """Take the minutes' charge; the fall of the loaded voltage over them."""
        battery = self._battery
        minutes = run.minutes
        loaded = []
        for minute in minutes:
            current_a = minute.current_ma / 1e3 + self._site.board.awake_a
            battery.step(current_a, max(minute.since_s - done_s, 0.1))
            done_s = max(done_s, minute.since_s)
            ohm = battery.resistance_ohm + self._wiring_ohm
            loaded.append(battery.emf_v - current_a * ohm)
        end_s = float(run.stop.on_s) if run.stop else done_s + 30.0
        left_s = end_s - done_s
        if left_s > 0.0 and (minutes or end_s > _SHORT_S):
            battery.step(self._current_a(run), left_s)
        return loaded[0] - loaded[-1] if len(loaded) > 1 else None

    def _current_a(self, run: Run) -> float:
        current_ma = run.minutes[-1].current_ma if run.minutes else None
        if current_ma is None and run.learned:
            current_ma = run.learned.current_ma
        return (current_ma / 1e3 if current_ma else self._normal_a) + self._site.board.awake_a
