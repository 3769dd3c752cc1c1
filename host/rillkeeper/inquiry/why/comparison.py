"""The log's signs as one row of numbers against the sound site, ready for the likelihood."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import BY_PRESSURE, NO_FLOW, Attempts
from rillkeeper.inquiry.why.batteries import battery_bend, battery_tolerances
from rillkeeper.inquiry.why.bends import BENDING
from rillkeeper.inquiry.why.likelihood import Data
from rillkeeper.inquiry.why.signatures import RESTED, SOAKED, Signatures
from rillkeeper.inquiry.why.signs import (
    DRY_SAG,
    HEAD,
    SIGN_COUNT,
    SIGN_HALF,
    SIGNS,
    SignReader,
)
from rillkeeper.runlog.nights import NightLog
from rillkeeper.runlog.source import Sunk
from rillsim.site import Site

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

_UNFELT = 0.2
"""Tolerances that together move all signs by less than this part of their noise are left out."""

_OFFSET = 2.5
"""Floors of noise by which each sign may be off on a site, by itself and in all its nights: what
no input of the model explains (common practice, no source)."""
_DECAYS = np.array([sign.key.startswith("decay") for sign in SIGNS])
_PRIME = np.array([sign.key == "prime" for sign in SIGNS])
_SAG = np.array([sign.key == DRY_SAG for sign in SIGNS])
_CURRENT = np.array([sign.key.endswith("current") for sign in SIGNS])
_SHARE = np.select([_DECAYS, _PRIME, _SAG, _CURRENT], [0.15, 0.3, 0.15, 0.08], 0.02)
_ROUGH = np.select([_DECAYS, _PRIME, _SAG], [0.6, 1.0, 1.0], 0.3)
"""So far a trouble shows otherwise on a site than on the model of its file, beyond what its
severity and ``bends.py`` explain: in parts of what it does there, and of the noise of a run.
Twelve moderate faults each on 53 sites that differed from their files as an owner's do, against
the trials of the files: two thirds of the pressures and resistances within 1 to 5 %, or a third
of the noise where they hardly move; of the decays within 11 %, or a quarter of it (29 %, or half
of it, without the bends), and one in ten of them beyond one and a half to three times the noise.
The time to prime, on ten other such sites: 15 to 50 % and up to the noise, since it hangs on how
the run before left the suction hose. The sag of a dry pump is taken as a decay is, and up to the
noise (common practice, no source). A sensed current, by ten moderate faults each on 36 such sites:
within 2 to 7 % of what the trial has, one deviation by fault."""
_ZERO_PA = 1300.0
"""Deviation of the transducer's zero, as `learn` takes it."""
_CUT = 0.1
"""Of what was above the standing water (common practice, no source)."""
_GROSS = 4.0
"""Deviations beyond which a sign no longer draws the tolerances after it."""
_FALL_UNSURE = 0.5
"""The source falls as the site file says to within this share (common practice, no source)."""
BARELY_M = 1e-3
ALMOST_BARE = 0.95
"""Share of the water above the strainer that is gone; what comes then is a trouble, and not the
site as it is."""


@dataclass(frozen=True)
class Comparison:
    """What was read, less what the sound site would have shown."""

    data: Data
    sign: Ints
    """Of each number of the row: place in ``SIGNS``."""
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

    def fitted(self, added: Floats, steps: Floats) -> tuple[Floats, Floats]:
        """What a sound site, and this one, should have shown: with what fits best left free.

        ``added`` is what the troubles add together; ``steps``, one a trouble, are what a little
        more of each would add.
        """
        read = ~np.isnan(self.off)
        sd = np.hypot(self.sd, 0.1 * added)[read]
        free = np.concatenate([self.jacobian, 2.0 * steps])
        columns = (free[:, read] / sd).T
        rest = np.clip((self.off - added)[read] / sd, -_GROSS, _GROSS)
        matrix = columns.T @ columns + np.eye(columns.shape[1])
        best = np.linalg.solve(matrix, columns.T @ rest)
        sound = np.tensordot(best[: len(self.jacobian)], self.jacobian, axes=1)
        more = np.tensordot(best[len(self.jacobian) :], 2.0 * steps, axes=1)
        return np.asarray(sound), np.asarray(sound + added + more)


def comparison_of(
    evidence: NightLog,
    attempts: Attempts,
    site: Site,
    settings: dict[str, int],
    signatures: Signatures,
    sunk: Mapping[int, Sunk],
) -> Comparison:
    """Signs of all runs against the sound site, with the source as low as it was by the count."""
    signs = SignReader(site, settings).signs(evidence)
    state = np.where(signs.rested, RESTED, SOAKED)
    with_run = np.array([run is not None for run in attempts.runs], dtype=bool)
    off = np.full((len(with_run), SIGN_COUNT), np.nan)
    sd = np.ones_like(off)
    sinking = _sinking(evidence, site, signatures, state, sunk)
    off[with_run] = signs.values - signatures.healthy_at(signs.charge, state) - sinking
    sd[with_run] = np.hypot(signs.floors, signatures.noise[None, :])
    sd[with_run] = np.hypot(sd[with_run], _decay_unsure(evidence, settings))
    sd[with_run] = np.hypot(sd[with_run], battery_bend(site, settings, evidence.runs))
    if not all(sunk[run.place].known for run in evidence.runs):
        sd[with_run] = np.hypot(sd[with_run], sinking)
    here = signatures.tolerances[:, state]
    theirs = battery_tolerances(site, settings, evidence.runs)
    unsure = _FALL_UNSURE * sinking[None, :]
    own = np.tile(np.diag(_own_offsets(signatures.tolerances))[:, None, :], (1, len(state), 1))
    rows = np.concatenate([here, theirs, unsure, own])
    jacobian = np.zeros((len(rows), *off.shape))
    jacobian[:, with_run] = rows
    attempt, sign = np.nonzero(~np.isnan(off))
    columns = jacobian[:, attempt, sign].T
    turn = felt_turn(columns, sd[attempt, sign])
    data = Data(
        y=off[attempt, sign],
        sd=sd[attempt, sign],
        jacobian=columns @ turn,
        turn=turn[BENDING],
        block=2 * attempt + SIGN_HALF[sign],
        sign=sign,
        share=_SHARE[sign],
        rough=_ROUGH[sign] * sd[attempt, sign],
    )
    return Comparison(data, sign, off, sd, jacobian)


def _own_offsets(tolerances: Floats) -> Floats:
    """What no input of the model explains, by sign; the same in all nights of a site.

    How fast the pressure falls hangs on the hose: a softer one is caught in the midst of its fall
    by a look that finds a stiffer one empty. So far any tolerance moves one of the looks, each of
    them may be off.
    """
    offsets = _OFFSET * np.array([sign.floor for sign in SIGNS])
    widest = np.abs(tolerances[:, :, _DECAYS]).max(initial=0.0)
    return np.asarray(np.where(_DECAYS, np.hypot(offsets, widest), offsets))


def _decay_unsure(evidence: NightLog, settings: dict[str, int]) -> Floats:
    """How far a decay is believed less than after a whole run of a sound site; run by sign.

    After a run that ended at little pressure an error of the transducer's zero does more to it.
    One that a rule has cut is seldom cut at the same moment as on the model, or at all.
    """
    felt = np.zeros((len(evidence.runs), SIGN_COUNT))
    static_pa = settings["static_pa"]
    sound = _ZERO_PA / max(settings["normal_pa"] - static_pa, _ZERO_PA)
    decay = [place for place, sign in enumerate(SIGNS) if sign.key.startswith("decay")]
    for row, run in zip(felt, evidence.runs, strict=True):
        if run.stop and run.stop.pressure_pa is not None:
            above_pa = max(run.stop.pressure_pa - static_pa, _ZERO_PA)
            row[decay] = max(_ZERO_PA / above_pa - sound, 0.0)
        if any(trip.rule in (*BY_PRESSURE, NO_FLOW) for trip in run.trips):
            row[decay] += _CUT
    return felt


def _sinking(
    evidence: NightLog,
    site: Site,
    signatures: Signatures,
    state: Ints,
    sunk: Mapping[int, Sunk],
) -> Floats:
    """What a source does that falls by itself, or by what was taken; at both ends of each run."""
    if not evidence.runs:
        return np.zeros((0, SIGN_COUNT))
    parts = np.array([fallen_of(site, sunk[run.place]) for run in evidence.runs])
    head, tail = np.minimum(parts, ALMOST_BARE).T
    at_head, at_tail = signatures.sinking(head, state), signatures.sinking(tail, state)
    # One that falls so far is not bare yet: it stops no pump.
    return np.where(_SAG, 0.0, np.where(SIGN_HALF[None, :] == HEAD, at_head, at_tail))


def fallen_of(site: Site, sunk: Sunk) -> tuple[float, float]:
    """The same in parts of the water above the strainer: from 1 on it is bare."""
    cover_m = max(site.water.cover_m, BARELY_M)
    return sunk.start_m / cover_m, sunk.end_m / cover_m


def felt_turn(jacobian: Floats, sd: Floats) -> Floats:
    """What makes fewer columns of tolerances, tolerance by column: turned, and without what no
    sign can feel.

    Standard normal tolerances may be turned at will; by the singular values of the columns over
    the noise, most of what they do is in a few.
    """
    if not jacobian.size:
        return np.eye(jacobian.shape[1])
    _, size, turned = np.linalg.svd(jacobian / sd[:, None], full_matrices=False)
    return np.asarray(turned[size > _UNFELT].T)
