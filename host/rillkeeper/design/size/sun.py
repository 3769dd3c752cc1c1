"""What a small solar panel puts into the battery, from the radiation of the site's weather."""

from dataclasses import dataclass

from rillsim.garden.radiation import daylight_h, extraterrestrial_mj_m2, solar_mj_m2
from rillsim.site import Site
from rillsim.supply.chemistry import CHEMISTRY

MJ_PER_KWH = 3.6
CHARGING_V = 13.5
"""At which a 12 V battery takes most of its charge: common practice, no source."""


@dataclass(frozen=True)
class Sun:
    """One panel through an average and an overcast day."""

    power_w: float
    radiation_mj_m2: float
    """Of a usual day, on level ground."""
    usual_ah: float
    """Into the battery on a usual day..."""
    dull_ah: float
    """...and under a closed sky."""
    daylight_h: float
    frozen: bool
    """It is too cold for this battery to be charged: nothing goes in."""


def sun_of(site: Site) -> Sun | None:
    """The panel of a site, or none.

    The radiation is that of FAO-56, equation 35, with the usual sunshine and with none. A battery
    in its box is as warm as the day's mean: a lithium one below 0 C takes nothing.
    """
    panel, weather = site.solar, site.weather
    if panel.power_w <= 0.0:
        return None
    day = min(weather.day_of_year, 365)
    outside = extraterrestrial_mj_m2(weather.latitude_deg, day)
    usual = solar_mj_m2(weather.sunshine, outside)
    mean_c = 0.5 * (weather.t_min_c + weather.t_max_c)
    frozen = mean_c < CHEMISTRY[site.battery.chemistry].charge_above_c
    taken = 0.0 if frozen else panel.efficiency
    return Sun(
        power_w=panel.power_w,
        radiation_mj_m2=usual,
        usual_ah=day_ah(panel.power_w, taken, usual),
        dull_ah=day_ah(panel.power_w, taken, solar_mj_m2(0.0, outside)),
        daylight_h=daylight_h(weather.latitude_deg, day),
        frozen=frozen,
    )


def day_ah(power_w: float, efficiency: float, radiation_mj_m2: float) -> float:
    r"""Charge of one day.

    .. math:: Q = \eta \, P \, \frac{H}{1\,\mathrm{kW/m^2}} \, \frac{1}{U}

    Parameters
    ----------
    power_w : float
        Rated power, at 1000 W/m2 [W]
    efficiency : float
        Share of the rated yield that reaches the battery [-]
    radiation_mj_m2 : float
        Of the day on the panel [MJ/m2]

    Returns
    -------
    charge_ah : float
        At the voltage of a battery that is being charged [Ah]

    Examples
    --------
    18 MJ/m2 are as much as five hours of full sun:

    >>> day_ah(27.0, 1.0, 18.0)
    10.0

    References
    ----------
    .. [1] IEC 61724-1, reference yield (hours of full sun) and performance ratio.
    """
    return efficiency * power_w * radiation_mj_m2 / MJ_PER_KWH / CHARGING_V
