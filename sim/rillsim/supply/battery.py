"""A 12 V battery: two wells of charge, rested voltage, resistance, one RC pair and the surface.

The state is the charge *taken* from the two wells, so charge is conserved by construction and
an empty well is reached sooner when it is cold. The rested-voltage curve is entered with the
near well: under load the voltage runs ahead of the charge left, and at rest it recovers as the
wells level out.

The electromotive force is taken at the start of a step and is constant within it. Over a
step of constant current the energy therefore closes exactly:
``open_v * I * dt`` (chemical) = ``polarisation_v * I * dt`` + ``resistance_ohm * I^2 * dt``
+ ``terminal_v(I) * I * dt``, all read before the step. Self-discharge and the charge lost in
charging are counted in ampere-hours apart.

References
----------
.. [1] Manwell, J. F. and McGowan, J. G. (1993). Solar Energy 50(5), 399-405.
"""

from functools import cache
from math import expm1

from rillsim.site import END_OF_LIFE_SHARE, BatterySpec
from rillsim.supply import surface
from rillsim.supply.chemistry import CHEMISTRY, size_correction
from rillsim.supply.kibam import capacity_ah, life_h, max_current_a
from rillsim.supply.rest_curve import RestCurve

REFERENCE_C = 25.0

_COLLAPSE_V = 1000.0
"""Volts lost per unit of charge drawn beyond an empty near well: steep, but smooth."""


Kept = tuple[float, float, float, float, float]
"""Charge taken from both wells and from the near one [Ah], RC pair [V], charge lost [Ah], surface
charge [V]."""


class Battery:
    """A battery as a load sees it; current is positive in discharge."""

    __slots__ = (
        "_aged_ah",
        "_carry",
        "_chemistry",
        "_dt_s",
        "_full_ah",
        "_gain",
        "_head_knee",
        "_hours",
        "_near_ah",
        "_near_table_ah",
        "_near_taken_ah",
        "_ohm",
        "_polarisation_gain",
        "_polarisation_keep",
        "_polarisation_v",
        "_rest_curve",
        "_spill",
        "_surface_v",
        "_taken_ah",
        "_temperature_c",
        "_weak",
        "_wear",
        "lost_ah",
        "self_discharge_a",
        "spec",
    )

    def __init__(
        self,
        spec: BatterySpec,
        charge: float = 1.0,
        temperature_c: float | None = None,
        weak_cell: float = 0.0,
        wear: float = 0.0,
    ) -> None:
        """A rested battery.

        Parameters
        ----------
        spec : BatterySpec
            Chemistry, rating at the 20 h rate and 25 C, age
        charge : float
            Share of the charge of an equally aged full battery, 0..1, [-]
        temperature_c : float
            Temperature; that of the record where not given, [C]
        weak_cell : float
            Share of its capacity that one cell has lost, 0 (sound) up to below 1, [-]
        wear : float
            Age beyond that of the record; may go past the end of its life, up to 3, [-]
        """
        _check(spec, charge, weak_cell)
        self.spec = spec
        self._chemistry = CHEMISTRY[spec.chemistry]
        self._weak = weak_cell
        self._wear = wear
        self._rest_curve = _rest_curve(spec.chemistry)
        self._dt_s = -1.0
        self._polarisation_v = 0.0
        self._surface_v = 0.0
        self.lost_ah = 0.0
        self.temperature_c = spec.temperature_c if temperature_c is None else temperature_c
        self._taken_ah = (1.0 - charge) * self._aged_ah
        self._near_taken_ah = self._chemistry.share * self._taken_ah

    @property
    def temperature_c(self) -> float:
        """Temperature of the battery; setting it keeps the charge that has been taken."""
        return self._temperature_c

    @temperature_c.setter
    def temperature_c(self, temperature_c: float) -> None:
        spec, kind = self.spec, self._chemistry
        self._temperature_c = temperature_c
        lived = spec.lived
        age = lived + self._wear
        self._aged_ah = spec.capacity_ah * (1.0 - (1.0 - END_OF_LIFE_SHARE) * age)
        at_20h = capacity_ah(1.0, 20.0, kind.share, kind.rate_per_h)
        at_table = capacity_ah(1.0, kind.table_hours, kind.share, kind.rate_per_h)
        self._near_table_ah = kind.share * self._aged_ah * at_table / at_20h
        full_warm_ah = self._aged_ah / at_20h
        self._full_ah = full_warm_ah / size_correction(kind, temperature_c)
        self._near_ah = kind.share * self._full_ah
        self._head_knee = 1.0 - at_20h
        ohm = spec.resistance_ohm
        if ohm <= 0.0:
            ohm = kind.ohm_ah / spec.capacity_ah * (1.0 + kind.ohm_aged * lived)
        ohm *= (1.0 + kind.ohm_aged * age) / (1.0 + kind.ohm_aged * lived)
        warmth = 1.0 + kind.ohm_per_k * (REFERENCE_C - temperature_c)
        self._ohm = ohm * max(0.6, warmth)
        monthly = spec.capacity_ah * kind.self_discharge_per_month
        self.self_discharge_a = float(
            monthly / (30.0 * 24.0) * 2.0 ** ((temperature_c - REFERENCE_C) / 10.0)
        )
        self._dt_s = -1.0

    def _prepare(self, dt_s: float) -> None:
        """Coefficients of the exact step for this length."""
        kind = self._chemistry
        hours = dt_s / 3600.0
        x = kind.rate_per_h * hours
        moved = -expm1(-x)
        lag = x - moved if x > 1e-3 else x * x * (0.5 - x * (1.0 / 6.0 - x / 24.0))
        self._dt_s = dt_s
        self._hours = hours
        self._carry = 1.0 - moved
        self._spill = kind.share * moved
        self._gain = (moved + kind.share * lag) / kind.rate_per_h
        fade = -expm1(-dt_s / kind.polarisation_s)
        self._polarisation_keep = 1.0 - fade
        self._polarisation_gain = kind.polarisation * self._ohm * fade

    def step(self, current_a: float, dt_s: float) -> None:
        """Advance by a constant current, exactly, over any length of time.

        The two-well closed form of [1]_ written for the charge taken; the RC pair decays
        exponentially. Charging (negative) keeps its coulombic efficiency; what does not fit
        into a full well is counted in ``lost_ah``, as gas and heat. Charge in steps of some
        minutes: whether a well is full is seen at the end of a step only.
        """
        if dt_s != self._dt_s:
            self._prepare(dt_s)
        self._polarisation_v = (
            self._polarisation_v * self._polarisation_keep + current_a * self._polarisation_gain
        )
        if current_a < 0.0 or self._surface_v:
            lacking = self._near_taken_ah / self._near_ah
            self._surface_v = surface.after(
                self._surface_v, current_a, self.spec.capacity_ah, lacking, dt_s, self._chemistry
            )
        if current_a < 0.0:
            self._charge_step(current_a)
            return
        drawn_a = current_a + self.self_discharge_a
        taken_ah = self._taken_ah
        self._near_taken_ah = (
            self._near_taken_ah * self._carry + taken_ah * self._spill + drawn_a * self._gain
        )
        self._taken_ah = taken_ah + drawn_a * self._hours

    def _charge_step(self, current_a: float) -> None:
        kept_a = current_a * self._chemistry.charge_efficiency
        self.lost_ah += (kept_a - current_a) * self._hours
        drawn_a = kept_a + self.self_discharge_a
        near = self._near_taken_ah * self._carry + self._taken_ah * self._spill
        taken = self._taken_ah + drawn_a * self._hours
        near += drawn_a * self._gain
        far = taken - near
        if near < 0.0:
            self.lost_ah -= near
            near = 0.0
        if far < 0.0:
            self.lost_ah -= far
            far = 0.0
        self._near_taken_ah = near
        self._taken_ah = near + far

    def _curve_v(self, near_taken_ah: float) -> float:
        """Rested voltage that belongs to a state of the near well."""
        left = 1.0 - near_taken_ah / self._near_table_ah
        if self._weak:
            volt = self._rest_curve.volt_with_weak_cell(left, self._weak)
        else:
            volt = self._rest_curve.volt(left)
        head = 1.0 - near_taken_ah / self._near_ah
        if head < self._head_knee:
            bend = min(1.0, (self._head_knee - head) / self._head_knee)
            volt -= self._chemistry.knee_v * bend * bend
            if head < 0.0:
                volt = max(0.0, volt + _COLLAPSE_V * head)
        return volt

    @property
    def open_v(self) -> float:
        """Open-circuit voltage at the near well: the chemical source, [V]."""
        return self._curve_v(self._near_taken_ah)

    @property
    def polarisation_v(self) -> float:
        """Voltage across the RC pair less surface charge, positive after discharge, [V]."""
        return self._polarisation_v - self._surface_v

    @property
    def emf_v(self) -> float:
        """What a load sees behind ``resistance_ohm``: open voltage less polarisation, [V]."""
        return self._curve_v(self._near_taken_ah) - self.polarisation_v

    @property
    def rest_v(self) -> float:
        """Voltage after a long rest, wells level, RC pair and surface empty, [V]."""
        return self._curve_v(self._chemistry.share * self._taken_ah)

    @property
    def resistance_ohm(self) -> float:
        """Ohmic resistance, which rises as the near well empties, [ohm]."""
        empty = self._near_taken_ah / self._near_ah
        if empty > 1.0:
            empty = 1.0
        return self._ohm * (1.0 + self._chemistry.ohm_empty * empty * empty)

    def terminal_v(self, current_a: float) -> float:
        """Voltage at the posts under a current, [V]."""
        return self.emf_v - current_a * self.resistance_ohm

    @property
    def charge_ah(self) -> float:
        """Charge in both wells at this temperature, q1 + q2, [Ah]."""
        return self._full_ah - self._taken_ah

    @property
    def soc(self) -> float:
        """Share left of the 20 h charge at 25 C, as a hydrometer would say, 0..1."""
        return min(1.0, max(0.0, 1.0 - self._taken_ah / self._aged_ah))

    def capacity_ah(self, hours: float) -> float:
        """What a full battery of this age and temperature gives in ``hours``, [Ah]."""
        kind = self._chemistry
        return capacity_ah(self._full_ah, hours, kind.share, kind.rate_per_h)

    def life_h(self, current_a: float) -> float:
        """How long a full battery of this age and temperature carries a current, [h]."""
        kind = self._chemistry
        return life_h(self._full_ah, current_a, kind.share, kind.rate_per_h)

    def max_current_a(self, dt_s: float) -> float:
        """Constant current that just empties the near well in this time, [A]."""
        kind = self._chemistry
        near = self._near_ah - self._near_taken_ah
        far = self._full_ah - self._taken_ah - near
        return max(0.0, max_current_a(near, far, dt_s / 3600.0, kind.share, kind.rate_per_h))

    def acceptance_a(self, dt_s: float) -> float:
        """Charging current that just fills the near well in this time, [A]."""
        if dt_s != self._dt_s:
            self._prepare(dt_s)
        near_ah = self._near_taken_ah * self._carry + self._taken_ah * self._spill
        return max(near_ah, 0.0) / (self._gain * self._chemistry.charge_efficiency)

    @property
    def takes_charge(self) -> bool:
        """False where it is too cold to be charged: a lithium battery below 0 C."""
        return self._temperature_c >= self._chemistry.charge_above_c

    def save(self) -> Kept:
        """The state that :meth:`step` changes; temperature is not part of it."""
        return (
            self._taken_ah,
            self._near_taken_ah,
            self._polarisation_v,
            self.lost_ah,
            self._surface_v,
        )

    def restore(self, state: Kept) -> None:
        """Go back to a saved state."""
        self._taken_ah, self._near_taken_ah, self._polarisation_v, self.lost_ah = state[:4]
        self._surface_v = state[4]


@cache
def _rest_curve(chemistry: str) -> RestCurve:
    """One for each chemistry: a sizing makes dozens of batteries."""
    return RestCurve(CHEMISTRY[chemistry])


def _check(spec: BatterySpec, charge: float, weak_cell: float) -> None:
    if spec.chemistry not in CHEMISTRY:
        known = ", ".join(CHEMISTRY)
        raise ValueError(f"battery chemistry {spec.chemistry!r} is unknown; choose of {known}")
    if not spec.capacity_ah > 0.0:
        raise ValueError(f"battery capacity is {spec.capacity_ah} Ah; it must be over 0 Ah")
    if not 0.0 <= spec.age <= 1.0:
        raise ValueError(f"battery age is {spec.age}; it runs from 0 (new) to 1 (end of life)")
    if not 0.0 <= charge <= 1.0:
        raise ValueError(f"battery charge is {charge}; it runs from 0 (empty) to 1 (full)")
    if not 0.0 <= weak_cell < 1.0:
        raise ValueError(f"weak cell is {weak_cell}; it runs from 0 (sound) to below 1")
