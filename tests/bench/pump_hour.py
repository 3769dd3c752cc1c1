"""One pump hour against scipy's LSODA on the same equations."""

import numpy as np

from rillsim.plant import Plant
from rillsim.site import Site
from tests.bench.table import Row, accuracy_row, seconds_text
from tests.bench.timing import take_turns
from tests.sim.equations import HOUR_S, SECOND_TICKS, lsoda_course, plant_course

PRESSURE_PERCENT = 0.5
PRESSURE_FROM_S = 10
CHARGE_PERCENT = 0.1
EXACT_RTOL = 1e-8
LOOSE_RTOL = 1e-3
"""scipy's own default."""


def rows(seconds: int = HOUR_S, repeats: int = 5) -> list[Row]:
    """Accuracy, then time against LSODA at two tolerances; all are read each second."""
    site = Site()
    exact = lsoda_course(site, seconds, EXACT_RTOL)
    plant = plant_course(site, seconds)
    off = 100.0 * np.abs(plant.pressure_pa / exact.pressure_pa - 1.0)
    charge_off = 100.0 * abs(plant.charge_ah / exact.charge_ah - 1.0)
    ours, tight, loose = take_turns(
        [
            lambda: _read_each_second(site, seconds),
            lambda: lsoda_course(site, seconds, EXACT_RTOL),
            lambda: lsoda_course(site, seconds, LOOSE_RTOL),
        ],
        repeats,
    )
    span = f"{seconds // 60} min of pumping"
    figures = [
        accuracy_row(
            f"{span}: pressure after {PRESSURE_FROM_S} s against LSODA",
            float(off[PRESSURE_FROM_S:].max()),
            PRESSURE_PERCENT,
        ),
        accuracy_row(f"{span}: charge against LSODA", charge_off, CHARGE_PERCENT),
    ]
    for times, rtol in ((tight, EXACT_RTOL), (loose, LOOSE_RTOL)):
        ratio = ours.middle_s / times.middle_s
        figures.append(
            Row(
                f"{span}: time; LSODA at a relative tolerance of {rtol:.0e}",
                seconds_text(ours),
                seconds_text(times),
                f"{ratio:.2f}x",
            )
        )
    return figures


def _read_each_second(site: Site, seconds: int) -> None:
    """Let the plant pump; what is read are the board's counts, with noise and all."""
    plant = Plant(site)
    plant.read(0)
    plant.drive(0, 1)
    for second in range(seconds + 1):
        plant.read(SECOND_TICKS * second)
