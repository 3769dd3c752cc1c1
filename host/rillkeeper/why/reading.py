"""The log's signs as one row of numbers against the sound site, ready for the likelihood."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.evidence import Evidence
from rillkeeper.why import batteries
from rillkeeper.why.attempts import Attempts
from rillkeeper.why.features import COUNT, Reader
from rillkeeper.why.hypotheses import half_of_sign
from rillkeeper.why.likelihood import Data
from rillkeeper.why.signatures import RESTED, SOAKED, Signatures
from rillsim.site import Site

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]


@dataclass(frozen=True)
class Reading:
    """What was read, less what the sound site would have shown."""

    data: Data
    sign: Ints
    """Of each number of the row: place in ``FEATURES``."""
    off: Floats
    """Attempt by sign; not a number where nothing was read."""
    sd: Floats
    """The noise, attempt by sign."""
    jacobian: Floats
    """Tolerance by attempt by sign."""

    @property
    def spread(self) -> Floats:
        """How far a sound site may be off: noise and tolerances, attempt by sign."""
        return np.asarray(np.sqrt(self.sd**2 + np.sum(self.jacobian**2, axis=0)))


def reading_of(
    evidence: Evidence,
    attempts: Attempts,
    site: Site,
    settings: dict[str, int],
    signatures: Signatures,
) -> Reading:
    """Signs of all runs against the sound site."""
    signs = Reader(site, settings).signs(evidence)
    state = np.where(signs.rested, RESTED, SOAKED)
    with_run = np.array([run is not None for run in attempts.runs], dtype=bool)
    off = np.full((len(with_run), COUNT), np.nan)
    sd = np.ones_like(off)
    off[with_run] = signs.values - signatures.healthy_at(signs.charge, state)
    sd[with_run] = np.hypot(signs.floors, signatures.noise[None, :])
    here = signatures.tolerances[:, state]
    theirs = batteries.tolerances_of(site, settings, evidence.runs)
    jacobian = np.zeros((len(here) + len(theirs), *off.shape))
    jacobian[:, with_run] = np.concatenate([here, theirs])
    attempt, sign = np.nonzero(~np.isnan(off))
    data = Data(
        y=off[attempt, sign],
        sd=sd[attempt, sign],
        jacobian=jacobian[:, attempt, sign].T,
        block=2 * attempt + half_of_sign()[sign],
    )
    return Reading(data, sign, off, sd, jacobian)
