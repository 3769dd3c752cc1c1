"""PyBaMM's lead-acid battery under the pump's nights: `pybamm_pulses.csv`, `pybamm_nights.csv`.

Offline, in a virtual environment of its own (`pip install pybamm==26.10.1.1`): nothing of this
project needs it. Model Full, parameter set Sulzer2019: porous electrodes, 12 V, nominal 17 Ah,
from full. The set has no temperature of its own worth using; "cold" is its acid and its reactions
at some 0 C: diffusivity 0.5, conductivity 0.6 and exchange current 0.25 of the set's (the acid's
viscosity doubles and 40 kJ/mol of activation; from memory).
"""

import csv
import os
import sys
from pathlib import Path

os.environ["PYBAMM_DISABLE_TELEMETRY"] = "true"

import numpy as np
import pybamm

ACIDS = {"set": (1.0, 1.0, 1.0), "cold": (0.5, 0.6, 0.25)}
"""Diffusivity, conductivity, exchange current, as shares of the parameter set's."""
PULSES_A = (0.17, 0.85, 1.7, 3.4, 17.0 / 3.0, 8.5)
PULSE_S = 1.0
NIGHTS = ((1.36, 60.0), (2.5, 20.0), (2.5, 40.0), (4.25, 40.0))
"""Amperes and minutes of a night's run, on 17 Ah."""
IDLE_A = 0.002
LOOKS_S = (1.0, 7.0, 60.0, 300.0, 600.0, 1200.0, 1800.0, 2400.0, 3600.0)
REST_LOOKS_S = (1.0, 60.0, 600.0, 3600.0)
DAY_S = 86400.0
STEP_AH, STEP_A = 1.0, 0.85
EMPTY_V = 10.5
NIGHTS_MAX = 40


class Cell:
    """A battery that goes on from step to step."""

    def __init__(self, acid: str) -> None:
        values = pybamm.ParameterValues("Sulzer2019")
        diffusivity, conductivity, exchange = ACIDS[acid]
        for key, share in (
            ("Electrolyte diffusivity [m2.s-1]", diffusivity),
            ("Electrolyte conductivity [S.m-1]", conductivity),
            ("Negative electrode exchange-current density [A.m-2]", exchange),
            ("Positive electrode exchange-current density [A.m-2]", exchange),
        ):
            values[key] = _times(values[key], share)
        values["Current function [A]"] = pybamm.InputParameter("I")
        self.sim = pybamm.Simulation(
            pybamm.lead_acid.Full(), parameter_values=values, solver=pybamm.IDAKLUSolver()
        )
        self.ended = False

    def go(self, current_a: float, span_s: float, looks_s: tuple[float, ...]) -> list[float]:
        """Volts at these moments of a step of constant current; nan beyond empty."""
        at = np.unique([0.0, *(one for one in looks_s if one < span_s), span_s])
        try:
            done = self.sim.step(span_s, t_eval=at, inputs={"I": current_a}, save=True)
        except pybamm.SolverError:  # Empty as soon as the current flows.
            self.ended = True
            return [float("nan")] * len(looks_s)
        last = done.cycles[-1] if getattr(done, "cycles", None) else done.sub_solutions[-1]
        time, volt = last["Time [s]"].entries, last["Battery voltage [V]"].entries
        time = time - time[0]
        self.ended = time[-1] < span_s - 0.01 or volt[-1] <= EMPTY_V
        found = np.interp(looks_s, time, volt)
        return [
            float(v) if s <= time[-1] + 0.01 else float("nan")
            for s, v in zip(looks_s, found, strict=True)
        ]


def _times(function, share):
    return lambda *given: share * function(*given)


def pulses(acid: str):
    """Rested voltage and the voltage a second into each current, every ampere-hour down."""
    cell, taken_ah = Cell(acid), 0.0
    while True:
        (rest_v,) = cell.go(0.0, DAY_S, (DAY_S,))
        volts = []
        for current_a in PULSES_A:
            volts += cell.go(current_a, PULSE_S, (PULSE_S,))
            if cell.ended:
                break
            taken_ah += current_a * PULSE_S / 3600.0
            cell.go(0.0, 3600.0, (3600.0,))
        volts += [float("nan")] * (len(PULSES_A) - len(volts))
        yield [acid, f"{taken_ah:.4f}", f"{rest_v:.4f}", *(f"{volt:.4f}" for volt in volts)]
        if cell.ended:
            return
        cell.go(STEP_A, STEP_AH / STEP_A * 3600.0, (1.0,))
        taken_ah += STEP_AH
        if cell.ended:
            return


def nights(acid: str, current_a: float, minutes: float):
    """Volts of every night's run, and of the rest after it."""
    cell, run_s = Cell(acid), 60.0 * minutes
    looks_s = tuple(one for one in LOOKS_S if one <= run_s)
    before = cell.go(IDLE_A, 3600.0, (3600.0,))
    for night in range(1, NIGHTS_MAX + 1):
        case = [acid, f"{current_a:g}", f"{minutes:g}", night]
        yield [*case, "rest", 0, f"{before[-1]:.4f}"]
        volts = cell.go(current_a, run_s, looks_s)
        for at_s, volt in zip(looks_s, volts, strict=True):
            if volt == volt:
                yield [*case, "run", f"{at_s:g}", f"{volt:.4f}"]
        if cell.ended:
            return
        rests_s = (*REST_LOOKS_S, DAY_S - run_s)
        before = cell.go(IDLE_A, DAY_S - run_s, rests_s)
        for at_s, volt in zip(rests_s[:-1], before[:-1], strict=True):
            yield [*case, "after", f"{at_s:g}", f"{volt:.4f}"]


def main(folder: Path) -> None:
    """Write both tables there."""
    with (folder / "pybamm_pulses.csv").open("w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["acid", "taken_ah", "rest_v", *(f"v_at_{a:.2f}_a" for a in PULSES_A)])
        for acid in ACIDS:
            table.writerows(pulses(acid))
    with (folder / "pybamm_nights.csv").open("w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["acid", "current_a", "minutes", "night", "phase", "at_s", "volt"])
        for acid in ACIDS:
            for current_a, minutes in NIGHTS:
                table.writerows(nights(acid, current_a, minutes))
    print(pybamm.__version__)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
