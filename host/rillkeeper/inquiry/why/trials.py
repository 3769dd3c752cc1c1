"""Short trials of a site on the desk: with a fault, or a little off its site file.

A trial is a night's rest and two short runs with a soak between them. Plant and board are the
ones of a replay, with the board's own limits, so that what a fault does to the log is what the
board would write: readings, trips and all. Only the garden is left out.

How far a sound site may be from its own site file is tried one input at a time: each row of
``TOLERANCES`` moves one input by one standard deviation. What follows from it in the readings
comes from the plant; together they are what a site may be off by without anything being wrong.
Deviations without a source are common practice.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from keeper import Settings
from keeper.checked import MINUTES, SETS
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillkeeper.site.change import value_of, with_value
from rillsim.boards.board import Board
from rillsim.boards.flowpulses import SPREAD
from rillsim.boards.sensors import (
    BATTERY,
    CURRENT,
    GAIN_SPREAD,
    OFFSET_SPREAD_COUNTS,
    PRESSURE,
    Sensors,
)
from rillsim.plant import Plant
from rillsim.site import FaultSpec, HomeSpec, SetSpec, Site

SiteChange = Callable[[Site], Site]
SensorShift = Callable[[Sensors], None]

SET_MINUTES = 5
RUNS = 2
SOAK_S = 1200
START_S = 22 * 3600 + 1800
_BEGIN_S = START_S + 3600
_WINDOW_S = 1800
_REST_S = 23 * 3600
_START_DAY = 20643
_TICKS_PER_S = 10
_BOARD_ON_S = _REST_S - 900
"""The plant alone rests before that: a board that watches it costs most of the time of a trial."""
_IN_RUN_S = 30.0 * SET_MINUTES
_AFTER_S = 300
_END_N = (_REST_S + RUNS * (60 * SET_MINUTES + _AFTER_S) + SOAK_S) * _TICKS_PER_S
_MISSING_PER_SEVERITY = 0.95
"""Severity 1 of the catalogue's flat battery takes so much of a full charge."""


def trial(
    site: Site,
    settings: dict[str, int],
    *,
    fault: str = "",
    severity: float = 0.0,
    charge: float = 1.0,
    seed: int = 1,
    shift: SensorShift | None = None,
    in_a_run: bool = False,
) -> NightLog:
    """What the board writes in one short night.

    Parameters
    ----------
    site : Site
        As it really is: it may differ from the one that the settings were made for
    settings : dict
        The board's settings for the site as it was meant
    fault : str, optional
        A fault of the catalogue, fully grown long before the night
    severity : float
        Of that fault
    charge : float
        Share of a full charge that is in the battery
    seed : int
        Of the noise; the sensors have no error of their own
    shift : callable, optional
        Gives them one
    in_a_run : bool, optional
        The fault comes in the midst of the first run, and not before the night
    """
    faults = []
    if charge < 1.0:
        missing = (1.0 - charge) / _MISSING_PER_SEVERITY
        faults.append(FaultSpec("flat_battery", 1, -_REST_S, missing))
    if fault and severity != 0.0:
        faults.append(FaultSpec(fault, 1, _IN_RUN_S if in_a_run else -_REST_S, severity))
    plant = Plant(
        replace(
            site,
            faults=tuple(faults),
            battery_trips=(),
            home=HomeSpec(),
            sets=(SetSpec(start_s=START_S, soak_s=SOAK_S),),
            water=replace(site.water, stored_m3=0.0),
        ),
        seed,
        start_s=_BEGIN_S,
        start_day=_START_DAY,
        observed=False,
    )
    sensors = plant.sensors
    sensors.be_exact()
    if shift:
        shift(sensors)
    board = Board(Settings(short_settings(settings)))
    _go(plant, board)
    return nights_of(read_log(board.log), site.board, complete=True).acted


def short_settings(settings: dict[str, int]) -> dict[str, int]:
    """The same limits for a night of two short runs."""
    short = dict(settings)
    for number in range(1, SETS + 1):
        short[f"set{number}_unit"] = 0
    short.update(
        set1_unit=MINUTES,
        set1_start_s=START_S,
        set1_amount=SET_MINUTES,
        set1_runs=RUNS,
        set1_soak_s=SOAK_S,
        set1_window_s=_WINDOW_S,
    )
    return short


def _go(plant: Plant, board: Board) -> None:
    """The loop of a replay, without what it watches the garden for."""
    n, level = _BOARD_ON_S * _TICKS_PER_S, 0
    powered = True
    while n < _END_N:
        counts = plant.read(n)
        if plant.board_powered:
            if not powered:
                board.power_back()
            before = level
            level = board.step(n, plant.clock.reading(n), counts)
            if level != before:
                plant.drive(n, level)
            powered = True
        else:
            powered, level = False, 0
        if level:
            n += 1
            continue
        wake = n + board.nap_ticks() if powered else _END_N
        n = max(n + 1, min(wake, plant.next_event_tick(), _END_N))


@dataclass(frozen=True)
class Tolerance:
    """One input that is only known so well; one of the two changes."""

    name: str
    site: SiteChange | None = None
    sensors: SensorShift | None = None


def _times(factor: float, *keys: str) -> SiteChange:
    def change(site: Site) -> Site:
        for key in keys:
            site = with_value(site, key, factor * value_of(site, key))
        return site

    return change


def _plus(more: float, key: str) -> SiteChange:
    return lambda site: with_value(site, key, value_of(site, key) + more)


def _gain(channel: int) -> SensorShift:
    def shift(sensors: Sensors) -> None:
        sensors.gain[channel] *= 1.0 + GAIN_SPREAD[channel]

    return shift


def _offset(channel: int) -> SensorShift:
    def shift(sensors: Sensors) -> None:
        sensors.offset[channel] += OFFSET_SPREAD_COUNTS[channel]

    return shift


TOLERANCES = (
    Tolerance("height over the water, 10 cm", _plus(0.1, "water.lift")),
    Tolerance("nozzle bore, 2 %", _times(1.02, "sprinkler.nozzle_bore")),
    Tolerance("hose bore, 3 %", _times(1.03, "line.bore")),
    Tolerance("stiffness of the hose, 30 %", _times(1.3, "line.modulus")),
    # A look that finds the stiffer one empty catches a softer one in the midst of its fall.
    Tolerance("softness of the hose, 30 %", _times(1.0 / 1.3, "line.modulus")),
    Tolerance("height of the nozzle, 7 cm", _plus(0.07, "line.rise")),
    Tolerance("loss of the clean strainer, 50 %", _times(1.5, "suction.strainer_k")),
    Tolerance("open flow of the pump, 5 %", _times(1.05, "pump.open_flow")),
    Tolerance("current of the pump, 5 %", _times(1.05, "pump.open_current", "pump.max_current")),
    Tolerance("clamps, 3 mohm", _plus(0.003, "cable.clamps")),
    Tolerance("relay contact, 2 mohm", _plus(0.002, "cable.relay_resistance")),
    Tolerance("gain of the pressure channel", sensors=_gain(PRESSURE)),
    Tolerance("zero of the pressure channel", sensors=_offset(PRESSURE)),
    Tolerance("gain of the battery channel", sensors=_gain(BATTERY)),
    Tolerance("zero of the battery channel", sensors=_offset(BATTERY)),
)
"""Those of the battery are in ``batteries.py``: each battery has its own."""


def _pulses(sensors: Sensors) -> None:
    assert sensors.meter is not None
    sensors.meter.pulse_m3 *= 1.0 + SPREAD


_METER = (Tolerance("pulses of the flow meter, 1.5 %", sensors=_pulses),)
_SHUNT = (
    Tolerance("gain of the current channel", sensors=_gain(CURRENT)),
    Tolerance("zero of the current channel", sensors=_offset(CURRENT)),
)


def tolerances_of(site: Site) -> tuple[Tolerance, ...]:
    """Those, and what else a board can be off by that has more than most."""
    board = site.board
    meter = _METER if board.flow_fitted else ()
    return (*TOLERANCES, *meter, *(_SHUNT if board.current_fitted else ()))
