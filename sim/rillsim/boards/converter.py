"""The analogue side of the board: converter, dividers and transducers as transfer laws.

One reading of the board is the mean of sixteen conversions. Their noise is wider than one
step, so the mean of the steps follows the voltage between steps, and the rounded mean is the
whole step below voltage plus mean noise: that is what ``Sensors`` computes.
"""

REFERENCE_V = 3.3
STEPS = 4096
COUNT_MAX = STEPS - 1
OVERSAMPLES = 16

BATTERY_TOP_OHM = 100e3
BATTERY_BOTTOM_OHM = 22e3

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


def count(pin_v: float) -> int:
    """Code of one ideal conversion.

    .. math:: n = \\lfloor 4096 \\, v / v_{ref} \\rfloor, \\quad 0 \\le n \\le 4095

    >>> count(battery_pin_v(12.0))
    2685
    """
    return min(max(int(pin_v / REFERENCE_V * STEPS), 0), COUNT_MAX)


def read_u16(code: int) -> int:
    """Twelve bits stretched over sixteen, as MicroPython's ``ADC.read_u16`` returns them.

    >>> read_u16(4095)
    65535
    """
    return code << 4 | code >> 8


def battery_pin_v(battery_v: float) -> float:
    """Battery voltage after the divider of 100 kohm over 22 kohm."""
    return battery_v * BATTERY_BOTTOM_OHM / (BATTERY_TOP_OHM + BATTERY_BOTTOM_OHM)


def transducer_v(
    pressure_pa: float, span_pa: float, supply_v: float = TRANSDUCER_SUPPLY_V
) -> float:
    """Output of a ratiometric transducer.

    .. math:: v = v_s (0.1 + 0.8 \\, p / p_{span})

    >>> round(transducer_v(2e5, 1e6), 9)
    1.3
    """
    return supply_v * (TRANSDUCER_ZERO + TRANSDUCER_SPAN * pressure_pa / span_pa)


def transducer_pa(output_v: float, span_pa: float, supply_v: float = TRANSDUCER_SUPPLY_V) -> float:
    """The pressure that gives this output; the inverse of ``transducer_v``."""
    return span_pa * (output_v / supply_v - TRANSDUCER_ZERO) / TRANSDUCER_SPAN


def frost_v(air_c: float) -> float:
    """Output of the temperature sensor: 500 mV at 0 C and 10 mV/C.

    >>> round(frost_v(-5.0), 9)
    0.45
    """
    return FROST_ZERO_V + FROST_V_PER_C * air_c


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
