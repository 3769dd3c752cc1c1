"""Is this log from this site at all? A wrong site file is told as such, not as a trouble."""

from math import exp

import numpy as np

from rillkeeper.display_units import Shown
from rillkeeper.inquiry.why.diagnosis import Diagnosis, Trouble
from rillkeeper.inquiry.why.features import PLACE
from rillsim.site import Site

ODD_SHARE = 0.6
"""Share of the signs that nothing explains, from which the site is taken for another."""
AT_ONCE = 3
"""So many troubles, all there from the first night on, are another site."""
_FAR = 4.0
_SIGNS_MIN = 6


def strange_words(site: Site, settings: dict[str, int], diagnosis: Diagnosis) -> str:
    """Why this log is taken to be from another site; empty where it fits."""
    share = unexplained(diagnosis)
    always = [one.finding.cause.name for one in diagnosis.troubles if _always(one)]
    if share >= ODD_SHARE:
        why = (
            f"{100 * share:.0f} % of what was read fits neither the sound site nor any trouble "
            "of it"
        )
    elif len(always) >= AT_ONCE:
        names = f"{', '.join(always[:-1])} and {always[-1]}"
        why = f"from the first night on all of this would have to be wrong: {names}"
    else:
        return ""
    off = diagnosis.reading.off[:, PLACE["early_pressure"]]
    read = off[~np.isnan(off)]
    pressure = ""
    if len(read):
        factor = exp(float(np.median(read)))
        expected = Shown(site.units).text(settings["normal_pa"], "pressure")
        pressure = f"; the pressure is {factor:.2g} times the {expected} that it should be"
    return (
        f"the log is nothing like {site.name}: {why}{pressure}; is this the site file of that "
        "board?"
    )


def _always(trouble: Trouble) -> bool:
    """Whether it is there all the time."""
    return bool(trouble.finding.onset.profile.all()) and trouble.finding.onset.half == 0


def unexplained(diagnosis: Diagnosis) -> float:
    """Share of the signs that are far from the best explanation of them, whichever it is."""
    reading = diagnosis.reading
    read = ~np.isnan(reading.off)
    if read.sum() < _SIGNS_MIN:
        return 0.0
    _, expected = diagnosis.fitted()
    sd = np.hypot(reading.sd, 0.1 * expected)
    far = np.abs(reading.off - expected) > _FAR * sd
    return float(far[read].mean())
