"""The air around the site, for a plant that is run without a weather of its own."""

from collections.abc import Callable
from math import cos, pi

from rillsim.site import WeatherSpec

AirC = Callable[[float], float]
"""Air temperature [C] at seconds from the start of the replay."""

COLDEST_S = 5 * 3600
DAY_S = 86400


def steady_air(weather: WeatherSpec, start_s: int) -> AirC:
    """Days all alike: coldest at five in the morning, warmest twelve hours later.

    >>> air_c = steady_air(WeatherSpec(t_min_c=10.0, t_max_c=20.0), 0)
    >>> air_c(5 * 3600), air_c(17 * 3600)
    (10.0, 20.0)
    """
    middle = 0.5 * (weather.t_max_c + weather.t_min_c)
    swing = 0.5 * (weather.t_max_c - weather.t_min_c)

    def air_c(second: float) -> float:
        return middle - swing * cos(2.0 * pi * (second + start_s - COLDEST_S) / DAY_S)

    return air_c
