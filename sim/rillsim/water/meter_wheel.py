r"""The wheel of a small flow meter at the pump's outlet: how much of the water turns it.

.. math:: V_w = (1 - s) \int Q \, dt \quad \text{where } Q \ge Q_0

A wheel that runs follows the water. Below ``STANDS_BELOW_M3_S`` its own friction holds it, and
what runs backwards through the valves of a standing pump is far below that. Air turns none: the
pump's own air comes in puffs, and is over before the wheel has its speed (from memory).

References
----------
.. [1] A meter's law of a rotor with friction, as in Miller, R. W. (1996), Flow Measurement
   Engineering Handbook, turbine meters (from memory); the figure here is common practice, no
   source.
"""

STANDS_BELOW_M3_S = 0.3e-3 / 60.0
"""Wheel meters for a garden's hose are sold for a litre a minute and more, and begin to turn at
about a third of that. Common practice, no source."""


class MeterWheel:
    """One wheel, sound or held back."""

    def __init__(self) -> None:
        self.held = 0.0
        """Share of the water that passes without turning it; 1: it stands still."""

    def turned_m3(self, passed_m3: float, dt_s: float) -> float:
        """Water that the wheel has followed, of what passed in some time [m3].

        >>> wheel = MeterWheel()
        >>> wheel.turned_m3(2e-3, 10.0), wheel.turned_m3(1e-6, 10.0), wheel.turned_m3(-1e-3, 1.0)
        (0.002, 0.0, 0.0)
        >>> wheel.held = 1.0
        >>> wheel.turned_m3(2e-3, 10.0)
        0.0
        """
        if passed_m3 < STANDS_BELOW_M3_S * dt_s:
            return 0.0
        return (1.0 - self.held) * passed_m3
