"""How a trouble shows otherwise on a hose that is not as its file says, and at another voltage.

A signature is tried on the site of the file with the battery almost full. But how fast the
pressure falls with a kink in the hose hangs on how stiff that hose is, and a blocking strainer
takes the less the slower the pump turns: what it loses goes with the square of the flow, and where
the pump begins to draw vapour it is steeper still. A worn pump, air and a worn contact take about
the same share at every voltage, so that the course over the nights parts them.

So each trouble of the water is tried a few times more, at a severity that is well felt: with each
input of the way to the nozzle one deviation off, and with less in the battery. What that changes
is taken to grow with the trouble.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.attempts import FINE
from rillkeeper.inquiry.why.signs import SIGN_HALF, SIGN_PLACE, SIGNS

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

BENDING = range(1, 5)
"""Places among ``TOLERANCES``: nozzle, bore, and stiffness and softness of the hose."""
LOW_CHARGE = 0.5
"""Share of a full charge at which each is tried again."""
_FELT = (0.05, 0.15, 0.4)
"""Changes of the logarithm of the pressure: the least that is well felt, the best, and the most at
which the run is still one like others."""
_APART_V = 0.1
"""Voltages nearer than this tell of no course."""
_EARLY = SIGN_PLACE["early_pressure"]
_FLOORS = np.array([sign.floor for sign in SIGNS])
_DECAYS = np.array([sign.key.startswith("decay") for sign in SIGNS])
_STEADY = np.array(
    [sign.key.endswith("_pressure") and sign.key != "rest_pressure" for sign in SIGNS]
)
"""Pressures with the pump running."""
_TINY = 1e-9


@dataclass(frozen=True)
class Bend:
    """What was tried further of one failure mode."""

    place: int
    """Among the severities of the signature."""
    by_tolerance: Floats
    """Tolerance by state by sign: how much more one deviation does than on the sound site."""
    by_volt: Floats
    """State by sign: how much more the trouble does for each volt that the board reads less..."""
    volts: Floats
    """...than this, by state."""

    def shares(self, effects: Floats) -> Floats:
        """Severity by state: what the trouble does, in parts of what it did where it was tried
        further; beyond that nothing is known, so no more than 1."""
        size = (effects * effects[self.place] / _FLOORS**2).sum(axis=2)
        return np.asarray(np.clip(size / np.maximum(size[self.place], _TINY), 0.0, 1.0))

    def leaning(self, effects: Floats, state: Ints, volts: Floats) -> Floats:
        """What the voltage adds to the effects, severity by run by sign; ``volts`` by run by
        half, not a number where nothing was read."""
        less = np.nan_to_num(self.volts[state][:, None] - volts)[:, SIGN_HALF]
        return np.asarray(self.shares(effects)[:, state, None] * self.by_volt[state] * less)

    def bending(self, effects: Floats, state: Ints) -> Floats:
        """What the tolerances do more, severity by run by sign by tolerance."""
        by_run = self.by_tolerance[:, state].transpose(1, 2, 0)
        return np.asarray(self.shares(effects)[:, state, None, None] * by_run)


def well_felt(effects: Floats, ends: Sequence[tuple[str, str]]) -> int | None:
    """The place among the severities that is tried further; None where none is to be."""
    least, best, most = _FELT
    found = []
    for place, (effect, both) in enumerate(zip(effects, ends, strict=True)):
        change = float(np.abs(effect[:, _EARLY]).max())
        if least <= change <= most and set(both) == {FINE}:
            found.append((abs(log(change / best)), place))
    return min(found)[1] if found else None


@dataclass(frozen=True)
class Shown:
    """What one trial showed: the signs, state by sign, and the loaded voltage by state."""

    signs: Floats
    volts: Floats


def bend_of(
    place: int,
    plain: tuple[Shown, Shown],
    off: tuple[Sequence[Shown], Floats],
    low: tuple[Shown, Shown],
) -> Bend:
    """From trials with the same noise.

    ``plain`` is the trouble, and the sound site; ``low`` both with less in the battery; ``off``
    the trouble with each tolerance off in its turn, and what that does to the sound site.
    """
    trouble, sound = plain
    shown, alone = off
    by_tolerance = np.array([one.signs for one in shown]) - trouble.signs - alone
    change = (low[0].signs - low[1].signs) - (trouble.signs - sound.signs)
    apart = trouble.volts - low[0].volts
    known = apart > _APART_V
    by_volt = np.where(known[:, None], change / np.where(known, apart, 1.0)[:, None], 0.0)
    return Bend(
        place,
        np.where(_DECAYS, np.nan_to_num(by_tolerance), 0.0),
        np.where(_STEADY | _DECAYS, np.nan_to_num(by_volt), 0.0),
        np.nan_to_num(trouble.volts),
    )
