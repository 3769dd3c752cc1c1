r"""A pump from its sheet's table: flow and current every 10 psi, at the rated voltage.

Four figures (open flow and current, shut-off pressure and highest current) fix a pump only by
what is usual for its class: how the friction divides, how much slips through the valves. A table
says it. The motor's law :mod:`rillsim.water.diaphragm` is fitted to all its rows by least squares,

.. math:: \min \sum_i \left( \frac{Q(p_i) - Q_i}{Q_0} \right)^2
    + \left( \frac{I(p_i) - I_i}{I_0} \right)^2

over friction, its part that grows with speed, stroke, the stroke's give and slip, from the pump of
the four figures on. Winding and speed stay: a table at one voltage cannot tell them. The four
figures rule: where they are other than the table's first and last row (a worn pump, a figure that
is tried out), the table is stretched to them. Good within the table's pressures.

Examples
--------
>>> from rillsim.site import PumpSheet
>>> from rillsim.water.pump import fit_pump
>>> rows = ((0.0, 3.5e-4, 8.0), (2.0e5, 2.8e-4, 12.9), (4.0e5, 2.3e-4, 17.0))
>>> sheet = PumpSheet(open_flow_m3_s=3.5e-4, shutoff_pa=4.0e5, points=rows)
>>> _, current_a, flow_m3_s = fit_pump(sheet).operate(12.0, 0.0, 2.0e5)
>>> round(current_a, 1), round(flow_m3_s * 1e4, 1)
(13.1, 2.8)

References
----------
.. [1] Wenham, S. R. et al. Applied Photovoltaics, ch. 11: torque by pressure, flow by speed.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rillsim.site import PumpSheet
from rillsim.water.diaphragm import Pump

Rows = tuple[tuple[float, float, float], ...]
GIVE_MOST = 0.5
"""Past it the stroke's law is an extrapolation."""


def stretched(sheet: PumpSheet) -> Rows:
    """The table's rows, brought to the four figures: pressure [Pa], flow [m3/s], current [A]."""
    first, last = sheet.points[0], sheet.points[-1]
    more = sheet.open_flow_m3_s / first[1]
    over = (sheet.max_current_a - sheet.open_current_a) / (last[2] - first[2])
    longer = sheet.shutoff_pa / last[0]
    return tuple(
        (longer * pa, more * flow, sheet.open_current_a + over * (ampere - first[2]))
        for pa, flow, ampere in sheet.points
    )


def fit_table(start: Pump, sheet: PumpSheet) -> tuple[Pump, float, int]:
    """The pump of the table; the worst row's distance from it [-] and that row's place."""
    from scipy.optimize import least_squares  # Heavy: only where a sheet has a table.

    rows = stretched(sheet)
    low = np.array([0.2, 0.0, 0.5, 0.0, 0.0])
    high = np.array([3.0, 6.0, 1.5, GIVE_MOST, 0.5])
    # Each about 1: friction, viscous friction and stroke over the start's; the part of the stroke
    # that gives, and the part of the flow that slips, at the highest pressure.
    most_pa = rows[-1][0]

    def pump_of(z: NDArray[np.float64]) -> Pump:
        return replace(
            start,
            friction_nm=start.friction_nm * float(z[0]),
            viscous_nm_s=start.viscous_nm_s * float(z[1]),
            stroke_m3_rad=start.stroke_m3_rad * float(z[2]),
            give_per_pa=float(z[3]) / most_pa,
            slip_m3_s_pa=float(z[4]) * rows[0][1] / most_pa,
        )

    def off(z: NDArray[np.float64]) -> NDArray[np.float64]:
        pump = pump_of(z)
        found = [pump.operate(sheet.rated_v, 0.0, pa) for pa, _, _ in rows]
        flows = [(got[2] - row[1]) / rows[0][1] for got, row in zip(found, rows, strict=True)]
        amperes = [(got[1] - row[2]) / rows[0][2] for got, row in zip(found, rows, strict=True)]
        return np.array(flows + amperes)

    slip = start.slip_m3_s_pa * most_pa / rows[0][1]
    begin = np.array([1.0, 1.0, 1.0, start.give_per_pa * most_pa, slip])
    best = least_squares(off, np.clip(begin, low + 1e-6, high - 1e-6), bounds=(low, high))
    far = np.abs(off(best.x)).reshape(2, -1).max(axis=0)
    return pump_of(best.x), float(far.max()), int(far.argmax())
