"""A port that clogs while the pump works: the transducer goes on showing the pressure of then.

The trial in the plant tells what stands still: the looks after the stop, the pressure at rest and
the next start. How the pressures of later runs stand to what their own voltage should give hangs
on the voltage of the moment, which only the log knows: some between the least and the most that
the board read are reckoned along it.
"""

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.why.signatures import Signature
from rillkeeper.inquiry.why.signs import SIGN_HALF, STEADY
from rillkeeper.inquiry.why.sound_site import NormalPressure

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

MOMENTS = 5
"""Voltages between the least and the most."""


def held_effects(
    signature: Signature, state: Ints, volts: Floats, normal: NormalPressure
) -> tuple[Floats, Floats]:
    """Severities, each a voltage of the moment, and what each does: severity by run by sign.

    ``volts`` is what the board read, by run and half; not a number where it read nothing.
    """
    severities = np.linspace(0.0, 1.0, MOMENTS + 1)
    signs = np.repeat(signature.effects[[0, -1]][:, state], [1, MOMENTS], axis=0)
    read = volts[~np.isnan(volts)]
    if not len(read):
        return severities, signs
    moments = np.linspace(read.min(), read.max(), MOMENTS)
    then = np.log([normal.at(float(one)) for one in moments])
    filled = np.where(np.isnan(volts), read.mean(), volts)
    now = np.log([[normal.at(float(one)) for one in run] for run in filled])
    apart = np.where(np.isnan(volts), 0.0, then[:, None, None] - now)
    signs[1:, :, STEADY] = apart[:, :, SIGN_HALF[STEADY]]
    return severities, signs
