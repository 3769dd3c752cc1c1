"""A lead-acid battery that is not ours: PyBaMM's porous electrodes, behind the door of `Battery`.

PyBaMM is too slow to stand in a replay, and no dependency of this project. What its model Full
(Sulzer2019) does is kept in two tables, made offline by `data/pybamm_nights.py`: the rested
voltage and the voltage a second into a current, every ampere-hour down, and whole nights of
pumping. From the first this battery takes its voltage; two modes of diffusion are fitted to some
of the nights (the acid at the electrodes is drawn down further than the mean), and the other
nights hold it (`test_porous_battery.py`). Nothing is shared with `rillsim`'s battery but the door,
the wear, the self-discharge and, where it is cold, the charge that IEEE Std 485 leaves (from
memory): the parameter set has no cold of its own. Larger ones are more such cells in parallel.
"""

import csv
from bisect import bisect_right
from functools import cache
from math import exp, nan
from pathlib import Path

from rillsim.site import BatterySpec
from rillsim.supply.battery import Battery
from rillsim.supply.chemistry import AGM, size_correction

DATA = Path(__file__).parent / "data"
RATED_AH = 21.76
"""What one gives in 20 h to 10.5 V (`pybamm_capacity.csv`, Full 26.10)."""
SET_C, COLD_C = 21.7, 0.0
"""Warmth of the parameter set, and what the table "cold" stands for."""
COLD_SHARE = 0.88
"""Of its warm charge one gives at C/10 with the cold acid, by the tables."""
MODES = ((0.067, 230.0), (0.058, 3640.0))
"""Of the acid at the electrodes: charge that it lacks per ampere [h], and time constant [s]."""
COLD_MODES = 2.0
"""Both grow as the diffusivity falls: it is halved in the cold."""
_KINETIC_S = 0.1
"""The voltage of the tables is there at once."""
REACTION = 1.79
"""The reactions feel so many times what the acid at the electrodes lacks: they are uneven."""
_PER_AH = 10
_LAST_AH = 27


def _rows(acid: str) -> list[list[float]]:
    with (DATA / "pybamm_pulses.csv").open(newline="") as file:
        return [
            [float(cell) for name, cell in row.items() if name != "acid"]
            for row in csv.DictReader(file)
            if row["acid"] == acid
        ]


def currents_a() -> tuple[float, ...]:
    """At which the tables have a pulse."""
    with (DATA / "pybamm_pulses.csv").open(newline="") as file:
        header = next(csv.reader(file))
    return tuple(float(name.split("_")[2]) for name in header[3:])


def _line(xs: list[float], ys: list[float], x: float) -> float:
    """Straight lines between the points, and on beyond both ends."""
    place = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    x0, x1, y0, y1 = xs[place], xs[place + 1], ys[place], ys[place + 1]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


@cache
def _rested() -> tuple[float, ...]:
    """Rested voltage each tenth of an ampere-hour down: the same however cold."""
    rows = _rows("set")
    taken, volts = [row[0] for row in rows], [row[1] for row in rows]
    return tuple(_line(taken, volts, place / _PER_AH) for place in range(_LAST_AH * _PER_AH + 1))


@cache
def _sags(acid: str) -> tuple[tuple[float, ...], ...]:
    """Volts below rest at each current of the table, each tenth of an ampere-hour down."""
    rows = [row for row in _rows(acid) if not any(cell != cell for cell in row)]
    taken = [row[0] for row in rows]
    steps = [place / _PER_AH for place in range(_LAST_AH * _PER_AH + 1)]
    columns = []
    for column in range(2, len(rows[0])):
        sag = [row[1] - row[column] for row in rows]
        columns.append(tuple(_line(taken, sag, one) for one in steps))
    return tuple(columns)


class PorousBattery(Battery):
    """Takes the place of `Battery`; the slots of its state hold other things.

    ``_near_taken_ah`` and ``_polarisation_v`` hold what the acid at the electrodes lacks, slow and
    fast [Ah]; ``_surface_v`` holds the current of the last second [A].
    """

    def __init__(
        self,
        spec: BatterySpec,
        charge: float = 1.0,
        temperature_c: float | None = None,
        weak_cell: float = 0.0,
        wear: float = 0.0,
    ) -> None:
        """As `Battery`; ``weak_cell`` is not known here."""
        self._cold = nan
        self._parallel = nan
        super().__init__(spec, charge, temperature_c, weak_cell, wear)
        self._near_taken_ah = 0.0

    @property
    def temperature_c(self) -> float:
        return self._temperature_c

    @temperature_c.setter
    def temperature_c(self, temperature_c: float) -> None:
        Battery.temperature_c.fset(self, temperature_c)
        self._cold = min(1.2, max(0.0, (SET_C - temperature_c) / (SET_C - COLD_C)))
        gives = 1.0 / size_correction(AGM, temperature_c) if temperature_c < SET_C else 1.0
        lost = 1.0 - (1.0 - COLD_SHARE) * self._cold
        self._parallel = self._aged_ah / RATED_AH * min(1.0, gives / lost)
        self._full_ah = RATED_AH * self._parallel

    def step(self, current_a: float, dt_s: float) -> None:
        drawn_a = current_a + self.self_discharge_a
        self._taken_ah = max(0.0, self._taken_ah + drawn_a * dt_s / 3600.0)
        grown = COLD_MODES**self._cold
        (fast_h, fast_s), (slow_h, slow_s) = MODES
        fast, slow = exp(-dt_s / (fast_s * grown)), exp(-dt_s / (slow_s * grown))
        self._polarisation_v = self._polarisation_v * fast + drawn_a * fast_h * grown * (1 - fast)
        self._near_taken_ah = self._near_taken_ah * slow + drawn_a * slow_h * grown * (1 - slow)
        kept = exp(-dt_s / _KINETIC_S)
        self._surface_v = self._surface_v * kept + current_a * (1.0 - kept)

    def _place(self, taken_ah: float) -> tuple[int, float]:
        at = min(max(taken_ah / self._parallel, 0.0), _LAST_AH - 0.01) * _PER_AH
        return int(at), at - int(at)

    def _at_electrodes(self, felt: float = 1.0) -> tuple[int, float]:
        lacking_ah = self._near_taken_ah + self._polarisation_v
        return self._place(self._taken_ah + felt * lacking_ah)

    def _sag_v(self, column: int, place: int, part: float) -> float:
        """Of one cell at the table's current; cold by parts."""
        found = 0.0
        for acid, share in (("set", 1.0 - self._cold), ("cold", self._cold)):
            if share:
                sag = _sags(acid)[column]
                found += share * (sag[place] + part * (sag[place + 1] - sag[place]))
        return found

    def _resistance_ohm(self, place: int, part: float) -> float:
        """Of one cell, between the two highest currents of the table."""
        first_a, last_a = CURRENTS_A[-2:]
        last_v = self._sag_v(len(CURRENTS_A) - 1, place, part)
        return (last_v - self._sag_v(len(CURRENTS_A) - 2, place, part)) / (last_a - first_a)

    @property
    def resistance_ohm(self) -> float:
        return self._resistance_ohm(*self._at_electrodes(REACTION)) / self._parallel

    @property
    def open_v(self) -> float:
        place, part = self._at_electrodes()
        rested = _rested()
        return rested[place] + part * (rested[place + 1] - rested[place])

    @property
    def rest_v(self) -> float:
        place, part = self._place(self._taken_ah)
        rested = _rested()
        return rested[place] + part * (rested[place + 1] - rested[place])

    @property
    def polarisation_v(self) -> float:
        """What the reactions take at the current of the last second, beyond the resistance."""
        place, part = self._at_electrodes(REACTION)
        each_a = min(max(self._surface_v / self._parallel, 0.0), CURRENTS_A[-1])
        column = bisect_right(CURRENTS_A, each_a)
        low_a, low_v = 0.0, 0.0
        if column:
            low_a = CURRENTS_A[column - 1]
            low_v = self._sag_v(column - 1, place, part)
        sag_v = low_v
        if column < len(CURRENTS_A):
            high_v = self._sag_v(column, place, part)
            sag_v += (high_v - low_v) * (each_a - low_a) / (CURRENTS_A[column] - low_a)
        return sag_v - self._resistance_ohm(place, part) * each_a

    @property
    def emf_v(self) -> float:
        return self.open_v - self.polarisation_v


CURRENTS_A = currents_a()
