"""Resistance of what lies between battery and pump: conductors, clamps, fuse, relay contact.

References
----------
.. [1] IEC 60228:2004, Conductors of insulated cables, tables 1, 2 and 3: maximum resistance at
   20 C, plain annealed copper; annex: temperature correction.
.. [2] ASTM B258, Standard nominal diameters and cross-sectional areas of AWG sizes.
.. [3] IEC 60028, Resistance of copper: 17.241 nohm m at 20 C, 0.00393 per kelvin.
"""

from math import pi
from typing import NamedTuple

from rillsim.site import CableSpec

COPPER_OHM_M = 17.241e-9
COPPER_PER_K = 0.00393
STRANDED = 1.02
"""Lay of the strands: about 2 % longer than the cable (from memory)."""

# Maximum resistance [ohm/km] at 20 C by nominal area [mm2].
_SOLID_OHM_KM = {
    0.5: 36.0,
    0.75: 24.5,
    1.0: 18.1,
    1.5: 12.1,
    2.5: 7.41,
    4.0: 4.61,
    6.0: 3.08,
    10.0: 1.83,
    16.0: 1.15,
}
_FLEXIBLE_OHM_KM = {
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4.0: 4.95,
    6.0: 3.30,
    10.0: 1.91,
    16.0: 1.21,
}
# Classes 5 and 6 have the same maximum; the standard has no class 3 or 4.
_BY_CLASS = {1: _SOLID_OHM_KM, 2: _SOLID_OHM_KM, 5: _FLEXIBLE_OHM_KM, 6: _FLEXIBLE_OHM_KM}
NOMINAL_AREAS_M2 = tuple(area * 1e-6 for area in _SOLID_OHM_KM)
"""Areas of IEC 60228 that the tables here hold, rising, [m2]."""

# Blade fuse, cold resistance [ohm] by rating [A], from memory; about 0.08 V at its rating.
_FUSE_OHM = (
    (1.0, 0.123),
    (2.0, 0.0535),
    (3.0, 0.0311),
    (5.0, 0.0179),
    (7.5, 0.0109),
    (10.0, 0.0077),
    (15.0, 0.0048),
    (20.0, 0.0034),
    (25.0, 0.0025),
    (30.0, 0.0020),
    (40.0, 0.0015),
)


def awg_diameter_m(gauge: int) -> float:
    """Diameter of a solid American wire gauge, d = 0.127 mm * 92^((36 - n)/39) [2]_.

    Gauge 0 is 1/0, -1 is 2/0 and so on to -3; thinner than 40 is not made.

    Examples
    --------
    >>> round(awg_diameter_m(14) * 1000.0, 4)
    1.6277
    """
    if not -3 <= gauge <= 40:
        raise ValueError(f"{gauge} AWG is not a wire gauge; -3 (that is 4/0) to 40 are")
    return float(0.127e-3 * 92.0 ** ((36 - gauge) / 39.0))


def awg_area_m2(gauge: int) -> float:
    """Cross-section of an American wire gauge [2]_, [m2].

    Examples
    --------
    >>> round(awg_area_m2(14) * 1e6, 4)
    2.0809
    """
    return 0.25 * pi * awg_diameter_m(gauge) ** 2


def temperature_factor(temperature_c: float) -> float:
    """Resistance of copper over its resistance at 20 C [3]_; good from -50 to 150 C.

    Examples
    --------
    >>> round(temperature_factor(40.0), 4)
    1.0786
    """
    return 1.0 + COPPER_PER_K * (temperature_c - 20.0)


def resistance_ohm_per_m(
    area_m2: float, temperature_c: float = 20.0, strand_class: int = 5
) -> float:
    """Resistance of one conductor, [ohm/m].

    A nominal area of IEC 60228 (within 1 %) has the maximum of that table [1]_. Any other area,
    an American gauge among them, has that of its copper, 2 % more when it is stranded.

    Parameters
    ----------
    area_m2 : float
        Cross-section, [m2]
    temperature_c : float
        Temperature of the conductor, [C]
    strand_class : int
        IEC 60228 class: 1 solid, 2 stranded, 5 and 6 flexible, [-]

    Examples
    --------
    >>> round(resistance_ohm_per_m(2.5e-6), 6)
    0.00798
    >>> round(resistance_ohm_per_m(awg_area_m2(14), strand_class=1), 6)
    0.008285
    """
    if not area_m2 > 0.0:
        raise ValueError(f"conductor area is {area_m2 * 1e6:g} mm2; it must be over 0 mm2")
    if strand_class not in _BY_CLASS:
        raise ValueError(f"conductor class {strand_class} is unknown; choose of 1, 2, 5, 6")
    factor = temperature_factor(temperature_c)
    for area_mm2, ohm_km in _BY_CLASS[strand_class].items():
        if abs(area_m2 * 1e6 / area_mm2 - 1.0) < 0.01:
            return ohm_km / 1000.0 * factor
    lay = 1.0 if strand_class == 1 else STRANDED
    return COPPER_OHM_M * lay / area_m2 * factor


def voltage_drop_v(current_a: float, length_m: float, ohm_per_m: float) -> float:
    """Voltage lost in a cable of two conductors, out and back: U = 2 L I r, [V].

    Examples
    --------
    >>> round(voltage_drop_v(8.0, 5.0, resistance_ohm_per_m(2.5e-6)), 4)
    0.6384
    """
    return 2.0 * length_m * ohm_per_m * current_a


def fuse_resistance_ohm(rating_a: float) -> float:
    """Cold resistance of a blade fuse, between ratings by its voltage at rated current, [ohm].

    Examples
    --------
    >>> fuse_resistance_ohm(25.0)
    0.0025
    """
    if not rating_a > 0.0:
        raise ValueError(f"fuse rating is {rating_a:g} A; it must be over 0 A")
    low_a, low_ohm = _FUSE_OHM[0]
    if rating_a <= low_a:
        return low_a * low_ohm / rating_a
    for high_a, high_ohm in _FUSE_OHM[1:]:
        if rating_a <= high_a:
            part = (rating_a - low_a) / (high_a - low_a)
            volt = low_a * low_ohm + part * (high_a * high_ohm - low_a * low_ohm)
            return volt / rating_a
        low_a, low_ohm = high_a, high_ohm
    return low_a * low_ohm / rating_a


class Circuit(NamedTuple):
    """Resistances in series between battery posts and motor terminals, [ohm]."""

    conductor_ohm: float
    """Out and back."""
    clamp_ohm: float
    fuse_ohm: float
    relay_ohm: float

    @property
    def total_ohm(self) -> float:
        """All in series, [ohm]."""
        return self.conductor_ohm + self.clamp_ohm + self.fuse_ohm + self.relay_ohm

    def drops_v(self, current_a: float) -> dict[str, float]:
        """Where the voltage is lost, in the order from the battery to the pump, [V]."""
        half = 0.5 * self.conductor_ohm * current_a
        return {
            "clamps": self.clamp_ohm * current_a,
            "fuse": self.fuse_ohm * current_a,
            "relay contact": self.relay_ohm * current_a,
            "cable out": half,
            "cable back": half,
        }


def circuit(spec: CableSpec, relays: int = 1) -> Circuit:
    """The circuit of a cable record at its temperature; a fuse of 0 ohm goes by its rating.

    ``relays``: how many contacts are in series.

    Examples
    --------
    >>> round(circuit(CableSpec()).total_ohm, 5)
    0.02685
    """
    for name, ohm in (
        ("length", spec.length_m),
        ("clamps", spec.clamp_ohm),
        ("fuse", spec.fuse_ohm),
        ("relay contact", spec.relay_ohm),
    ):
        if not ohm >= 0.0:
            raise ValueError(f"cable {name} is {ohm:g}; it must not be below 0")
    per_m = resistance_ohm_per_m(spec.area_m2, spec.temperature_c, spec.strand_class)
    return Circuit(
        conductor_ohm=voltage_drop_v(1.0, spec.length_m, per_m),
        clamp_ohm=spec.clamp_ohm,
        fuse_ohm=spec.fuse_ohm or fuse_resistance_ohm(spec.fuse_a),
        relay_ohm=relays * spec.relay_ohm,
    )
