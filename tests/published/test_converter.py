"""Converter, divider and transducer against closed forms and the converter's data sheet."""

import math

import numpy as np
import pytest

from rillsim.boards import converter
from rillsim.boards.sensors import BATTERY, FROST, PRESSURE, Sensors
from rillsim.site import BoardSpec

pytestmark = pytest.mark.published


def exact_counts(channel: int, value: float) -> float:
    """Steps of a board without errors of its own; its transducer has a span of 10 bar."""
    sensors = Sensors(BoardSpec(pressure_span_pa=1e6), 1)
    sensors.be_exact()
    return sensors.offset[channel] + sensors.gain[channel] * value


@pytest.mark.parametrize(
    ("battery_v", "code"),
    [(10.50, 2350), (11.50, 2573), (11.80, 2641), (12.00, 2685), (12.65, 2831), (14.40, 3223)],
)
def test_battery_divider(battery_v: float, code: int) -> None:
    """12 bit, 3.3 V, 100 kohm over 22 kohm: floor(v / 3.3 V * 4096), to one step of 4.47 mV."""
    assert abs(int(exact_counts(BATTERY, battery_v)) - code) <= 1
    assert 1e3 / exact_counts(BATTERY, 1.0) == pytest.approx(4.47, abs=0.005)


@pytest.mark.parametrize(
    ("output_v", "bar"), [(0.50, 0.0), (1.30, 2.0), (2.50, 5.0), (4.50, 10.0), (0.25, -0.625)]
)
def test_ratiometric_transducer(output_v: float, bar: float) -> None:
    """A 0.5 to 4.5 V transducer on 5 V: v = vs (0.1 + 0.8 p / span), of vs as the full scale."""
    assert exact_counts(PRESSURE, bar * 1e5) == pytest.approx(4096.0 * output_v / 5.0, abs=1e-6)


@pytest.mark.parametrize(("air_c", "output_v"), [(0.0, 0.5), (-5.0, 0.45), (25.0, 0.75)])
def test_frost_sensor(air_c: float, output_v: float) -> None:
    """500 mV at 0 C and 10 mV/C, as usual for an analogue temperature sensor (from memory)."""
    assert exact_counts(FROST, air_c) == pytest.approx(4096.0 * output_v / 3.3, abs=1e-6)


def test_rp2040_has_four_wide_codes() -> None:
    """RP2040 data sheet, erratum E11: differential non-linearity at 512, 1536, 2560 and 3584."""
    codes = converter.rp2040_codes()
    assert len(codes) == 4096
    assert codes == sorted(codes)
    widths = np.bincount(codes, minlength=4096)
    wide = [int(code) for code in np.flatnonzero(widths > 2)]
    assert wide == [512, 1536, 2560, 3584]
    assert codes[0] == 0
    assert codes[-1] == 4095
    assert np.abs(np.array(codes) - np.arange(4096)).max() <= 8


def test_rp2040_effective_bits() -> None:
    """RP2040 data sheet: 8.7 effective bits, from signal to noise and distortion of a sine."""
    codes = np.array(converter.rp2040_codes())
    phase = np.linspace(0.0, 2.0 * math.pi * 17.0, 200_000, endpoint=False)
    sine = 2047.5 + 2040.0 * np.sin(phase)
    noise = np.random.Generator(np.random.Philox(1)).normal(0.0, 1.3, sine.size)
    read = codes[np.clip(sine + noise, 0, 4095).astype(int)] + 0.5
    fit = np.column_stack([np.sin(phase), np.cos(phase), np.ones_like(phase)])
    rest = read - fit @ np.linalg.lstsq(fit, read, rcond=None)[0]
    sinad_db = 20.0 * math.log10(2040.0 / math.sqrt(2.0) / rest.std())
    assert (sinad_db - 1.76) / 6.02 == pytest.approx(8.7, abs=0.5)
