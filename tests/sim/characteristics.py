"""A hose by the method of characteristics, without friction: what a transducer at the pump reads.

Wylie and Streeter (1993), chapter 3: along C+ and C- the sums p + B q and p - B q are carried by
one reach in one step. The pump gives a steady flow, the tap closes evenly in a time.
"""

import numpy as np
from numpy.typing import NDArray

REACHES = 400


def pressure_at_pump_pa(
    length_m: float,
    wave_m_s: float,
    impedance_pa_s_m3: float,
    flow_m3_s: float,
    first_pa: float,
    closing_s: float,
    at_s: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Pressure at the pump at some moments after the tap begins to close.

    ``impedance_pa_s_m3`` is density times wave speed over the hose's area.
    """
    step_s = length_m / wave_m_s / REACHES
    pressure = np.full(REACHES + 1, first_pa)
    flow = np.full(REACHES + 1, flow_m3_s)
    steps = int(at_s[-1] / step_s) + 2
    found = np.empty(steps)
    for step in range(steps):
        found[step] = pressure[0]
        time_s = (step + 1) * step_s
        forth = pressure[:-1] + impedance_pa_s_m3 * flow[:-1]
        back = pressure[1:] - impedance_pa_s_m3 * flow[1:]
        out = flow_m3_s * max(0.0, 1.0 - time_s / closing_s)
        pressure[1:-1] = 0.5 * (forth[:-1] + back[1:])
        flow[1:-1] = (forth[:-1] - back[1:]) / (2.0 * impedance_pa_s_m3)
        pressure[0], flow[0] = back[0] + impedance_pa_s_m3 * flow_m3_s, flow_m3_s
        pressure[-1], flow[-1] = forth[-1] - impedance_pa_s_m3 * out, out
    return np.interp(at_s, step_s * np.arange(steps), found)
