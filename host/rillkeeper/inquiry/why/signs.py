"""What is compared: one number for each sign that a run gives, against the sound site.

A run is cut in two: its head (rest, prime, the first minutes) and its tail (the last minutes,
the stop, the decay), since something may go wrong in between. Each number is what was read less
what the sound site does at the same voltage, so that in health all of them stay near nothing.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import asinh, exp, log, nan, sinh
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import NO_FLOW
from rillkeeper.inquiry.why.sound_site import ExpectedSupply, NormalPressure, SupplyCourse
from rillkeeper.runlog.nights import NightLog
from rillkeeper.runlog.runs import Minute, Run
from rillsim.site import Site

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

HEAD, TAIL = range(2)
_FLOOR_PA = 1000.0
_EARLY = 3
"""Minutes at either end of a run whose median is taken: one odd minute does not count."""
_RUNS_BEFORE = 5
"""Of so many that went well before it a supply's resistance is taken."""
_SETTLED_MS = 5000
_SOFT_PA = 5000.0


LOGARITHM, SOFT, PLAIN = range(3)


@dataclass(frozen=True)
class Sign:
    """One sign."""

    key: str
    half: int
    floor: float
    """Least deviation from run to run that is believed of a real garden, in its own unit: common
    practice, no source."""
    title: str
    """Over its picture."""
    unit: str
    kind: int
    scale: float
    """From SI to the unit it is shown in."""

    def number(self, value: float) -> float:
        """As it is shown."""
        if self.kind == LOGARITHM:
            return self.scale * (exp(value) - 1.0)
        if self.kind == SOFT:
            return self.scale * _SOFT_PA * sinh(value / _SOFT_PA)
        return self.scale * value


# fmt: off
SIGNS = (
    Sign("rest_pressure", HEAD, 600.0, "Pressure before the start", "kPa off", SOFT, 1e-3),
    Sign("prime", HEAD, 0.08, "Time to prime", "% longer", LOGARITHM, 100.0),
    Sign("start_pressure", HEAD, 0.010, "Pressure 5 s after prime", "% off", LOGARITHM, 100.0),
    Sign("early_pressure", HEAD, 0.004, "Pressure, first minutes", "% off", LOGARITHM, 100.0),
    Sign("resistance", HEAD, 0.03, "Supply resistance", "% off", LOGARITHM, 100.0),
    Sign("rest_voltage", HEAD, 0.012, "Rest voltage", "mV off", PLAIN, 1e3),
    Sign("late_pressure", TAIL, 0.004, "Pressure, last minutes", "% off", LOGARITHM, 100.0),
    Sign("stop_pressure", TAIL, 0.012, "Pressure at the stop", "% off", LOGARITHM, 100.0),
    Sign("decay_500", TAIL, 0.012, "Left 0.5 s after the stop", "% points off", PLAIN, 100.0),
    Sign("decay_1000", TAIL, 0.012, "Left 1 s after the stop", "% points off", PLAIN, 100.0),
    Sign("decay_2000", TAIL, 0.010, "Left 2 s after the stop", "% points off", PLAIN, 100.0),
    Sign("settled", TAIL, 600.0, "Pressure after the decay", "kPa off", SOFT, 1e-3),
    Sign("jump_back", TAIL, 0.04, "Resistance, at the stop", "% off", LOGARITHM, 100.0),
    Sign("fall", TAIL, 0.006, "Fall of the loaded voltage", "mV more", PLAIN, 1e3),
    Sign("dry_sag", TAIL, 0.04, "Sag where no water was seen", "% off", LOGARITHM, 100.0),
    Sign("early_flow", HEAD, 0.005, "Metered flow, first minutes", "% off", LOGARITHM, 100.0),
    Sign("late_flow", TAIL, 0.005, "Metered flow, last minutes", "% off", LOGARITHM, 100.0),
    Sign("early_current", HEAD, 0.005, "Pump current, first minutes", "% off", LOGARITHM, 100.0),
    Sign("late_current", TAIL, 0.005, "Pump current, last minutes", "% off", LOGARITHM, 100.0),
)
# fmt: on
"""In the order of the vectors."""

SIGN_PLACE = {sign.key: place for place, sign in enumerate(SIGNS)}
SIGN_COUNT = len(SIGNS)
SIGN_HALF: Ints = np.array([sign.half for sign in SIGNS])
"""Which half of a run each belongs to."""
STEADY: Ints = np.array(
    [SIGN_PLACE[f"{when}_pressure"] for when in ("start", "early", "late", "stop")]
)
"""Pressures with the pump running."""
_FLOWS: Ints = np.array([SIGN_PLACE["early_flow"], SIGN_PLACE["late_flow"]])
FALL_SHARE = 0.10
"""The fall of the voltage is predicted no better than to this share of itself."""
DRY_SAG = "dry_sag"
"""A sound site never gives it: a pump that moves water is loaded, whatever a sensor says."""
_SAG_UNKNOWN = 0.15
"""Deviation of the supply's resistance, where no run before has shown it (common practice, no
source)."""
_SAG_LEAST = 0.05
"""Of what is expected: a pump that takes less takes nothing."""
_SENSED_LEAST = 0.01
"""The same of a metered flow and of a sensed current."""
_TINY = 1e-9
_ML_MIN = 1e-6 / 60.0
"""In m3/s."""


@dataclass(frozen=True)
class SignTable:
    """All runs as numbers."""

    values: Floats
    """Runs by features; not a number where the log does not tell."""
    floors: Floats
    """The least deviation believed of each."""
    charge: Floats
    """Of the sound battery at each start, 0 to 1."""
    rested: NDArray[np.bool_]


def soft(pressure_pa: float) -> float:
    """The same near nothing, and ever slower growing far off: a shut line is shut.

    >>> round(soft(100.0)), round(soft(3e5))
    (100, 23938)
    """
    return _SOFT_PA * asinh(pressure_pa / _SOFT_PA)


class SignReader:
    """Turns runs into numbers, against one site."""

    def __init__(self, site: Site, settings: dict[str, int]) -> None:
        self._site = site
        self._settings = settings
        self.normal = NormalPressure(site)
        self.static_pa = float(settings["static_pa"])

    def signs(self, evidence: NightLog, charge: float | None = None) -> SignTable:
        """The runs of a log. ``charge``: what was in the battery at first, where it is known."""
        runs = evidence.runs
        values = np.full((len(runs), SIGN_COUNT), np.nan)
        floors = np.tile([sign.floor for sign in SIGNS], (len(runs), 1))
        charges = np.ones(len(runs))
        course = SupplyCourse(self._site, self._settings).along(runs, charge)
        # Litres of a night in which the meter stood still are those of the pressure.
        stood = {night.day for night in evidence.nights if night.meter_stood}
        for place, (run, expected) in enumerate(zip(runs, course, strict=True)):
            charges[place] = expected.charge
            for key, value in self._of_run(run, expected):
                values[place, SIGN_PLACE[key]] = value
            if run.night in stood:
                values[place, _FLOWS] = np.nan
            if expected.fall_v is not None:
                floors[place, SIGN_PLACE["fall"]] += FALL_SHARE * abs(expected.fall_v)
        _against_runs_before(runs, values, floors)
        return SignTable(
            values, floors, charges, np.array([run.rested for run in runs], dtype=bool)
        )

    def _of_run(self, run: Run, expected: ExpectedSupply) -> Iterable[tuple[str, float]]:
        if run.rest_pa is not None:
            yield "rest_pressure", soft(run.rest_pa - self.static_pa)
        if run.prime_ms is not None:
            yield "prime", log(max(run.prime_ms, 100) / 1e3)
        learned = run.learned
        if learned and learned.pressure_pa is not None:
            yield "start_pressure", self._over(learned.pressure_pa, learned.loaded_mv)
        if run.minutes:
            yield from self._early(run.minutes)
        if learned and learned.current_ma > 0 and learned.rest_mv > learned.loaded_mv:
            ohm = (learned.rest_mv - learned.loaded_mv) / learned.current_ma
            yield "resistance", log(ohm / expected.learned_ohm)
        if run.rest_mv is not None:
            yield "rest_voltage", run.rest_mv / 1e3 - expected.rest_v
        if run.stop:
            yield from self._tail(run, expected)

    def _early(self, minutes: tuple[Minute, ...]) -> Iterable[tuple[str, float]]:
        over = self._minutes(minutes[:_EARLY])
        if over:
            yield "early_pressure", median(over)
        for key, sensed in self._sensed(minutes[:_EARLY]):
            yield f"early_{key}", median(sensed)

    def _sensed(self, minutes: tuple[Minute, ...]) -> Iterable[tuple[str, list[float]]]:
        """Logarithms of what further sensors read over what the voltage should give."""
        if self._site.board.flow_fitted:
            flows = [
                self._over_normal(minute.flow_ml_min * _ML_MIN, minute, self.normal.flow_at)
                for minute in minutes
                if minute.flow_ml_min is not None
            ]
            if flows:
                yield "flow", flows
        if self._site.board.current_fitted and minutes:
            at = self.normal.current_at
            yield "current", [self._over_normal(m.current_ma / 1e3, m, at) for m in minutes]

    def _over_normal(self, read: float, minute: Minute, at: Callable[[float], float]) -> float:
        volts = (minute.battery_mv or self._settings["normal_mv"]) / 1e3
        return log(max(read / max(at(volts), _TINY), _SENSED_LEAST))

    def _tail(self, run: Run, expected: ExpectedSupply) -> Iterable[tuple[str, float]]:
        stop = run.stop
        assert stop is not None
        if not run.trips and len(run.minutes) > 1:
            over = self._minutes(run.minutes[-_EARLY:])
            if over:
                yield "late_pressure", median(over)
            for key, sensed in self._sensed(run.minutes[-_EARLY:]):
                yield f"late_{key}", median(sensed)
            first_mv, last_mv = run.minutes[0].battery_mv, run.minutes[-1].battery_mv
            if first_mv is not None and last_mv is not None and expected.fall_v is not None:
                yield "fall", (first_mv - last_mv) / 1e3 - expected.fall_v
        waterless = NO_FLOW in run.rules or (run.primed is None and run.trips)
        long = stop.on_s >= _SETTLED_MS // 1000
        if waterless and long and run.rest_mv is not None and stop.battery_mv is not None:
            sag_v = (run.rest_mv - stop.battery_mv) / 1e3 - (expected.fall_v or 0.0)
            yield DRY_SAG, log(max(sag_v / expected.sag_v, _SAG_LEAST))
        if stop.pressure_pa is not None and long:
            yield "stop_pressure", self._over(stop.pressure_pa, stop.battery_mv)
            yield from self._decay(run, stop.pressure_pa)
        looks = [look.pressure_pa for look in run.decay if look.after_ms >= _SETTLED_MS]
        settled = [value for value in looks if value is not None]
        if settled:
            yield "settled", soft(median(settled) - self.static_pa)
        if stop.battery_mv is not None and run.decay and run.decay[0].battery_mv is not None:
            back_mv = run.decay[0].battery_mv - stop.battery_mv
            current_ma = run.minutes[-1].current_ma if run.minutes else 0
            if back_mv > 0 and current_ma > 0:
                yield "jump_back", log(back_mv / current_ma / expected.ohmic_ohm)

    def _decay(self, run: Run, stop_pa: int) -> Iterable[tuple[str, float]]:
        """What is left of the pressure, as a share of what it was above the static head."""
        last = [m.pressure_pa for m in run.minutes[-_EARLY:] if m.pressure_pa is not None]
        above_pa = (median(last) if last and not run.trips else stop_pa) - self.static_pa
        if above_pa < 2.0 * _FLOOR_PA:
            return
        for look in run.decay:
            key = f"decay_{round(look.after_ms, -2)}"
            if key in SIGN_PLACE and look.pressure_pa is not None:
                yield key, (look.pressure_pa - self.static_pa) / above_pa

    def _minutes(self, minutes: tuple[Minute, ...]) -> list[float]:
        return [
            self._over(minute.pressure_pa, minute.battery_mv)
            for minute in minutes
            if minute.pressure_pa is not None
        ]

    def _over(self, pressure_pa: float, battery_mv: int | None) -> float:
        """Logarithm of a pressure over what this voltage should give."""
        volts = (battery_mv or self._settings["normal_mv"]) / 1e3
        return log(max(pressure_pa, _FLOOR_PA) / self.normal.at(volts))


def _against_runs_before(runs: Sequence[Run], values: Floats, floors: Floats) -> None:
    """The sag of a dry pump against the supply's resistance as runs that went well have shown it;
    where none has, it is believed the less."""
    sag, resistance = SIGN_PLACE[DRY_SAG], SIGN_PLACE["resistance"]
    well: list[float] = []
    for place, run in enumerate(runs):
        if well:
            values[place, sag] -= median(well[-_RUNS_BEFORE:])
        else:
            floors[place, sag] += _SAG_UNKNOWN
        if not run.trips and not np.isnan(values[place, resistance]):
            well.append(float(values[place, resistance]))


def loaded_v(run: Run) -> tuple[float, float]:
    """What the board read at its terminals while the pump ran, in the head and the tail of a run
    [V]; not a number where it read nothing."""
    read = [one.battery_mv / 1e3 for one in run.minutes if one.battery_mv is not None]
    if not read and run.learned is not None:
        read = [run.learned.loaded_mv / 1e3]
    return (median(read[:_EARLY]), median(read[-_EARLY:])) if read else (nan, nan)
