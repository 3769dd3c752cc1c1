"""Sites as their owners have them: a site file, and a truth that is not quite as the file says.

What an owner writes down is the label and the sheet. What stands at the pond is a battery that no
longer gives what its label says, a nozzle and a pump some per cent beside their sheets, joints as
they came out, and a height that was taken with a rule. All deviations: common practice, no source.
The errors of the sensors are drawn by the plant itself.
"""

from dataclasses import replace
from functools import cache
from itertools import count
from math import exp

import numpy as np

from rillkeeper.inquiry.learn.inputs import with_battery_ohm
from rillkeeper.site.change import value_of, with_value
from rillsim.site import SetSpec, Site
from tests.scenarios.draw import any_site, refused

CHEMISTRIES = ("flooded", "agm", "lfp")
PLACES = 12
"""So many site files; the truth behind one is drawn anew for every week."""
NIGHTS = 7
FIRST_DRAWN = 2000
FILE_AGE = 0.1
"""What a site file says that does not know better."""
LABEL_SHARE = (0.75, 1.0)
"""What the battery really gives, in parts of its label."""
FACTORS = {
    "sprinkler.nozzle_bore": 0.02,
    "pump.open_flow": 0.04,
    "line.bore": 0.02,
    "line.modulus": 0.25,
    "suction.strainer_k": 0.4,
    "cable.clamps": 0.5,
    "cable.relay_resistance": 0.3,
}
"""Deviation of the logarithm."""
CURRENTS = ("pump.open_current", "pump.max_current")
CURRENT_SPREAD = 0.03
SHIFTS = {"water.lift": 0.1, "line.rise": 0.07}
"""Deviation, in metres."""
WARMTH_C = 3.0
"""Of the water, and of the battery's box."""
OHM_SPREAD = 0.15
"""Of the battery's resistance."""
WIND_FACTORS = (0.5, 2.0)


@cache
def file_of(place: int) -> Site:
    """The site file of a place: places count through the chemistries."""
    rng = np.random.default_rng((place, FIRST_DRAWN))
    minutes, runs = float(rng.integers(10, 25)), int(rng.integers(1, 3))
    for seed in count(FIRST_DRAWN + 1000 * place):
        site = any_site(seed)
        site = replace(
            site,
            battery=replace(
                site.battery, chemistry=CHEMISTRIES[place % len(CHEMISTRIES)], age=FILE_AGE
            ),
            sets=(SetSpec(start_s=22 * 3600, amount=minutes, runs=runs, soak_s=600),),
        )
        fitted = site.board.battery_fitted and site.board.pressure_fitted
        if fitted and not refused(site, NIGHTS):
            return site
    raise AssertionError("there is always another")


def truth_of(site: Site, seed: int) -> Site:
    """What stands there, drawn from the seed; its file goes on saying ``site``."""
    rng = np.random.default_rng((seed, PLACES))
    for key, spread in FACTORS.items():
        site = with_value(site, key, value_of(site, key) * exp(spread * rng.standard_normal()))
    current = exp(CURRENT_SPREAD * rng.standard_normal())
    for key in CURRENTS:
        site = with_value(site, key, value_of(site, key) * current)
    for key, spread in SHIFTS.items():
        site = with_value(site, key, value_of(site, key) + spread * rng.standard_normal())
    share = rng.uniform(*LABEL_SHARE)
    water_c, box_c = WARMTH_C * rng.standard_normal(2)
    site = replace(
        site,
        water=replace(site.water, temperature_c=max(2.0, site.water.temperature_c + water_c)),
        battery=replace(
            site.battery,
            measured_ah=share * site.battery.capacity_ah,
            temperature_c=site.battery.temperature_c + box_c,
        ),
        weather=replace(
            site.weather, wind_m_s=site.weather.wind_m_s * float(rng.uniform(*WIND_FACTORS))
        ),
    )
    return with_battery_ohm(site, exp(OHM_SPREAD * rng.standard_normal()))
