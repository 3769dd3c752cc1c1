"""A short trial of a site on the desk: a night's rest, two short runs with a soak between them.

Plant and board are the ones of a replay, with the board's own limits, so that what a fault does
to the log is what the board would write: readings, trips and all. Only the garden is left out.
"""

from collections.abc import Callable
from dataclasses import replace

from keeper import Settings
from keeper.settings import MINUTES, SETS
from rillkeeper.runlog.evidence import Evidence, evidence_of
from rillkeeper.runlog.lines import read_log
from rillsim.boards.board import Board
from rillsim.boards.sensors import Sensors
from rillsim.plant import Plant
from rillsim.site import FaultSpec, SetSpec, Site

SET_MINUTES = 5
RUNS = 2
SOAK_S = 1200
START_S = 22 * 3600 + 1800
_BEGIN_S = START_S + 3600
_WINDOW_S = 1800
_REST_S = 23 * 3600
_START_DAY = 20643
_TICKS_PER_S = 10
_END_N = (_REST_S + 3600 + SOAK_S) * _TICKS_PER_S
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
    shift: Callable[[Sensors], None] | None = None,
) -> Evidence:
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
    """
    faults = []
    if charge < 1.0:
        missing = (1.0 - charge) / _MISSING_PER_SEVERITY
        faults.append(FaultSpec("flat_battery", 1, -_REST_S, missing))
    if fault and severity != 0.0:
        faults.append(FaultSpec(fault, 1, -_REST_S, severity))
    plant = Plant(
        replace(
            site,
            faults=tuple(faults),
            battery_trips=(),
            sets=(SetSpec(start_s=START_S, soak_s=SOAK_S),),
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
    return evidence_of(read_log(board.log), site.board)


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
    n = level = 0
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
