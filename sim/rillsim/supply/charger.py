r"""A charger at home: constant current, then what its voltage limit lets in.

The current is the least of what the charger gives, of what holds the posts at the limit, and of
what just fills the near well in the step:

.. math:: I = \min \left( I_{max}, \frac{U - E}{R}, I_{full} \right)

A lead battery that is charged for too few hours so comes back part full: its last fifth goes in
slowly. Good for a charger with one voltage (no equalising, no float).

Examples
--------
A flooded battery of 80 Ah, half empty, eight hours at 4 A:

>>> from rillsim.site import BatterySpec
>>> battery = Battery(BatterySpec(capacity_ah=80.0, age=0.0), 0.5, temperature_c=25.0)
>>> given_ah = charge(battery, 4.0, 8 * 3600.0)
>>> round(given_ah, 1), round(battery.soc, 2)
(32.0, 0.85)

References
----------
.. [1] Constant current and constant voltage charging (IUoU without its float stage, DIN 41773,
   from memory).
"""

from rillsim.supply.battery import Battery
from rillsim.supply.chemistry import CHEMISTRY

_STEP_S = 300.0


def charge(
    battery: Battery, most_a: float, duration_s: float, limit_v: float = 0.0, most: float = 1.0
) -> float:
    """Charge for so long, or up to a share of a full charge; what went in at the posts, [Ah].

    ``limit_v`` is that of a charger for this chemistry where none is given.
    """
    limit_v = limit_v or CHEMISTRY[battery.spec.chemistry].charge_v
    given_ah = 0.0
    for _ in range(round(duration_s / _STEP_S)):
        if battery.soc >= most and most < 1.0:
            break
        room_a = (limit_v - battery.emf_v) / battery.resistance_ohm
        current_a = max(0.0, min(most_a, room_a, battery.acceptance_a(_STEP_S)))
        battery.step(-current_a, _STEP_S)
        given_ah += current_a * _STEP_S / 3600.0
    return given_ah
