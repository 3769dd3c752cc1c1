"""A small solar panel on the battery's posts, behind a controller with a voltage limit.

By day it gives what the sun offers, until the battery is full; then the controller lets in only
what the battery takes and holds the posts at its limit. Nothing flows by night.
"""

from collections.abc import Callable
from math import pi

from rillsim.garden.radiation import extraterrestrial_between_mj_m2, solar_mj_m2
from rillsim.site import SolarSpec, WeatherSpec
from rillsim.supply.battery import Battery
from rillsim.supply.chemistry import CHEMISTRY

CHARGING_V = 13.5
"""At which a 12 V battery takes most of its charge. Common practice, no source."""
_FULL_SUN_W_M2 = 1000.0
_DAY_S = 86400

SunMj = Callable[[float, float], float]
"""Radiation on level ground [MJ/m2] between two seconds from the start of the replay."""


def steady_sun(weather: WeatherSpec, start_s: int) -> SunMj:
    """Days all alike, with the usual share of sunshine; noon by the clock is noon by the sun.

    >>> sun_mj = steady_sun(WeatherSpec(), 0)
    >>> round(sun_mj(11.5 * 3600, 12.5 * 3600), 2), sun_mj(0, 3600)
    (2.61, 0.0)
    """

    def between_mj_m2(from_s: float, to_s: float) -> float:
        midnight_s = (from_s + start_s) // _DAY_S * _DAY_S - start_s
        first, last = (
            2.0 * pi * ((second - midnight_s) / _DAY_S - 0.5) for second in (from_s, to_s)
        )
        outside = extraterrestrial_between_mj_m2(
            weather.latitude_deg, weather.day_of_year, first, last
        )
        return solar_mj_m2(weather.sunshine, outside)

    return between_mj_m2


def offered_a(panel: SolarSpec, radiation_mj_m2: float, duration_s: float) -> float:
    r"""Mean charging current that the sun offers.

    .. math:: I = \eta \, \frac{P}{U} \, \frac{H}{1000\,\mathrm{W/m^2} \; t}

    Examples
    --------
    An hour of half the full sun on 27 W:

    >>> offered_a(SolarSpec(power_w=27.0, efficiency=0.5), 1.8, 3600.0)
    0.5

    References
    ----------
    .. [1] IEC 61724-1, reference yield and performance ratio.
    """
    suns = radiation_mj_m2 * 1e6 / (_FULL_SUN_W_M2 * duration_s)
    return panel.efficiency * panel.power_w / CHARGING_V * suns


def taken(
    battery: Battery, offered: float, load_a: float, duration_s: float
) -> tuple[float, float]:
    """Current that the controller lets through [A], and volts that it lifts the posts by.

    ``load_a`` is drawn from the battery meanwhile. Once the battery takes less than the sun
    offers, what it does not take would gas: the controller holds its limit instead. A lithium
    battery below 0 C takes nothing.
    """
    if offered <= 0.0 or not battery.takes_charge:
        return 0.0, 0.0
    limit_v = CHEMISTRY[battery.spec.chemistry].charge_v
    room_a = max((limit_v - battery.emf_v) / battery.resistance_ohm, 0.0)
    most_a = load_a + min(battery.acceptance_a(duration_s), room_a)
    if offered <= most_a:
        return offered, 0.0
    posts_v = battery.terminal_v(load_a - most_a)
    return most_a, max(limit_v - posts_v, 0.0)
