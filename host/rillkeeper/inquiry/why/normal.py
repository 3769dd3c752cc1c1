"""The outlet pressure of the sound site at each voltage that the board can see.

The board's voltage is taken before the relay contact, behind battery, clamps, fuse and cable:
with it measured, the water's side no longer depends on the battery.
"""

import numpy as np
from numpy.typing import NDArray

from rillsim.site import Site
from rillsim.supply.cable import circuit
from rillsim.water.operating_point import Plumbing, Supply, operating_point
from rillsim.water.pump import fit_pump

_STEPS = 12
_VOLTS = (0.75, 1.35)
"""From a pump that hardly turns to a charger left on, in parts of the rated voltage."""

Floats = NDArray[np.float64]


class NormalPressure:
    """Outlet pressure as a function of the voltage at the board, tabled once."""

    def __init__(self, site: Site) -> None:
        low, high = (share * site.pump.rated_v for share in _VOLTS)
        low = max(low, site.pump.minimum_v)
        self._volts: Floats = np.linspace(low, high, _STEPS)
        plumbing, pump = Plumbing(site), fit_pump(site.pump)
        contact_ohm = circuit(site.cable).relay_ohm
        self._pressures: Floats = np.array(
            [
                operating_point(plumbing, pump, Supply(float(v), 0.0, contact_ohm)).pump_pa
                for v in self._volts
            ]
        )

    def at(self, volts: float) -> float:
        """Outlet pressure at this voltage [Pa]; beyond the table it goes on straight."""
        table_v, table_pa = self._volts, self._pressures
        if volts < table_v[0] or volts > table_v[-1]:
            end = slice(0, 2) if volts < table_v[0] else slice(-2, None)
            (v0, v1), (p0, p1) = table_v[end], table_pa[end]
            return float(p0 + (volts - v0) * (p1 - p0) / (v1 - v0))
        return float(np.interp(volts, table_v, table_pa))
