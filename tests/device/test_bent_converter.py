"""A converter that is off and bent, as the ESP32's is: the board goes by the straightened reading.

Offset and bend are from memory: some 142 mV too low, and flat above about 2450 mV.
"""

import pytest

from device import pins
from rillsim.boards import converter

OFFSET_UV = 142_000
BENT_FROM_UV = 2_450_000
BEND = 0.8
FULL_UV = 3_300_000


class BentConverter:
    """What an ESP32's channel gives for a voltage at its pin: raw, and straightened."""

    ATTN_11DB = 3

    def __init__(self, pin_uv: int) -> None:
        self.pin_uv = pin_uv
        self.divided = False

    def atten(self, db: int) -> None:
        self.divided = db == self.ATTN_11DB

    def read_u16(self) -> int:
        low_uv = max(self.pin_uv - OFFSET_UV, 0)
        if low_uv > BENT_FROM_UV:
            low_uv = BENT_FROM_UV + int(BEND * (low_uv - BENT_FROM_UV))
        return min(low_uv * 65536 // FULL_UV, 65535)

    def read_uv(self) -> int:
        return self.pin_uv // 1000 * 1000


class Machine:
    """As much of ``machine`` as the inputs want."""

    class Pin:
        IN, PULL_UP, PULL_DOWN = 0, 1, 2

        def __init__(self, number: int, *_: int) -> None:
            self.number = number

        def value(self) -> int:
            return 1

    class ADC(BentConverter):
        def __init__(self, pin: "Machine.Pin") -> None:
            super().__init__(0)
            CONVERTERS[pin.number] = self


CONVERTERS: dict[int, BentConverter] = {}
BATTERY = (converter.BATTERY_TOP_OHM + converter.BATTERY_BOTTOM_OHM) / converter.BATTERY_BOTTOM_OHM


@pytest.mark.parametrize("battery_mv", [9000, 11000, 12500, 13600, 14500, 15200])
def test_battery_is_read_within_a_step(battery_mv: int) -> None:
    row = pins.TABLE["esp32"]
    inputs = pins.inputs(Machine, row)
    adc = CONVERTERS[row["battery"]]
    adc.pin_uv = round(battery_mv * 1000 / BATTERY)
    inputs.read()
    read_mv = inputs.battery_n * 18300 // 4096
    assert abs(read_mv - battery_mv) <= 12
    assert adc.divided
    raw_mv = (adc.read_u16() >> 4) * 18300 // 4096
    assert raw_mv < battery_mv - 700  # What the board would have gone by.


def test_frost_is_read_at_its_zero() -> None:
    """500 mV are 0 C: raw, the sensor would read 14 C too cold."""
    row = pins.TABLE["esp32"]
    inputs = pins.inputs(Machine, row)
    CONVERTERS[row["frost"]].pin_uv = 500_000
    inputs.read()
    assert abs(inputs.frost_n - 621) <= 1


def test_past_the_top_is_the_top() -> None:
    channel = pins.CalibratedChannel(BentConverter(3_400_000))
    assert channel.read() == 4095


def test_a_channel_that_fails_is_said() -> None:
    class Broken(BentConverter):
        def read_uv(self) -> int:
            raise OSError(5)

    assert pins.CalibratedChannel(Broken(0)).read() == -1


def test_no_product_leaves_31_bits() -> None:
    assert (FULL_UV * 16 // 1600 << 12) < 1 << 30
    assert FULL_UV * 16 < 1 << 30


def test_the_other_board_reads_as_before() -> None:
    """No ``read_uv`` in its port: the mean of the raw conversions."""

    class Straight:
        def read_u16(self) -> int:
            return 0x8000

    assert pins.Channel(Straight()).read() == 2048
    assert not hasattr(Straight(), "read_uv")
