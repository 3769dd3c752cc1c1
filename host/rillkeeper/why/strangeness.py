"""Is this log from this site at all? A wrong site file is told as such, not as a trouble."""

from math import exp

import numpy as np
from numpy.typing import NDArray

from rillkeeper.shown import Shown
from rillkeeper.why.diagnosis import Diagnosis
from rillkeeper.why.features import PLACE
from rillsim.site import Site

Floats = NDArray[np.float64]

ODD_SHARE = 0.6
"""Share of the signs that nothing explains, from which the site is taken for another."""
_FAR = 4.0
_SIGNS_MIN = 6


def strange_words(site: Site, settings: dict[str, int], diagnosis: Diagnosis) -> str:
    """Why this log is taken to be from another site; empty where it fits."""
    share = unexplained(diagnosis)
    if share < ODD_SHARE:
        return ""
    off = diagnosis.reading.off[:, PLACE["early_pressure"]]
    read = off[~np.isnan(off)]
    text = (
        f"the log is nothing like {site.name}: {100 * share:.0f} % of what was read fits "
        "neither the sound site nor any trouble of it"
    )
    if len(read):
        factor = exp(float(np.median(read)))
        expected = Shown(site.units).text(settings["normal_pa"], "pressure")
        text += f"; the pressure is {factor:.2g} times the {expected} that it should be"
    return text + "; is this the site file of that board?"


def unexplained(diagnosis: Diagnosis) -> float:
    """Share of the signs that are far from the best explanation of them, whichever it is."""
    reading = diagnosis.reading
    data = reading.data
    if len(data.y) < _SIGNS_MIN:
        return 0.0
    attempt = data.block // 2
    best = 1.0
    none = np.zeros(reading.off.shape)
    for added in (none, *(finding.added for finding in diagnosis.findings)):
        far = np.abs(_left(diagnosis, added[attempt, reading.sign])) > _FAR
        best = min(best, float(far.mean()))
    return best


def _left(diagnosis: Diagnosis, added: Floats) -> Floats:
    """What is left of each sign, in deviations, after the tolerances that fit best."""
    data = diagnosis.reading.data
    sd = np.hypot(data.sd, 0.1 * added)
    columns = data.jacobian / sd[:, None]
    rest = (data.y - added) / sd
    matrix = columns.T @ columns + np.eye(columns.shape[1])
    return np.asarray(rest - columns @ np.linalg.solve(matrix, columns.T @ rest))
