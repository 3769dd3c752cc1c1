"""The analogue side of the board: converter, dividers and transducers as transfer laws.

One reading of the board is the mean of sixteen conversions. Their noise is wider than one
step, so the mean of the steps follows the voltage between steps, and the rounded mean is the
whole step below voltage plus mean noise: that is what ``Sensors`` computes.
"""

REFERENCE_V = 3.3
STEPS = 4096
COUNT_MAX = STEPS - 1

BATTERY_TOP_OHM = 100e3
BATTERY_BOTTOM_OHM = 22e3
"""Of the divider that ``BoardSpec.battery_full_v`` is the full scale of."""
TRANSDUCER_SUPPLY_V = 5.0
TRANSDUCER_ZERO = 0.1
TRANSDUCER_SPAN = 0.8
"""A 0.5 to 4.5 V transducer on 5 V is ratiometric: 10 % of its supply at no pressure."""

FROST_ZERO_V = 0.5
FROST_V_PER_C = 0.01

WIDE_CODES = (512, 1536, 2560, 3584)
WIDE_CODE_STEPS = 9.0
"""Width of those codes on an RP2040, whose data sheet shows four spikes of differential
non-linearity there (erratum E11). The width is from memory."""


def ideal_codes() -> list[int]:
    """Code for each whole step of input, for a converter without fault."""
    return list(range(STEPS))


def rp2040_codes() -> list[int]:
    """Code for each whole step of input, with four codes that are much too wide.

    The other codes are a little narrower in return, so that both ends stay where they are.

    >>> rp2040_codes().count(2560)
    9
    """
    narrow = (STEPS - len(WIDE_CODES) * WIDE_CODE_STEPS) / (STEPS - len(WIDE_CODES))
    codes: list[int] = []
    end = 0.0
    for code in range(STEPS):
        end += WIDE_CODE_STEPS if code in WIDE_CODES else narrow
        while len(codes) + 0.5 < end and len(codes) < STEPS:
            codes.append(code)
    codes.extend([COUNT_MAX] * (STEPS - len(codes)))
    return codes


CONVERTERS = {"ideal": ideal_codes, "rp2040": rp2040_codes}
