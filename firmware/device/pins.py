"""One table of pins for both boards, and what is read from them.

The relays are on the same numbers everywhere: boot.py switches them off before any table is read.
An unfitted input stays unconnected; its pull makes it read as nothing.
"""

_RP2 = {
    "relay": 18,  # through a transistor whose base is pulled down: off while the pin floats
    "second_relay": 4,  # the same, where a second relay is fitted in series
    "timer": -1,
    "battery": 26,
    "pressure": 27,
    "frost": 28,
    "current": 29,  # where the board leads it out
    "load_sense": 19,  # high while the load side of the relay is live
    "rain": 20,  # contact to ground
    "button": 21,  # contact to ground
    "flow": 22,  # pulses to ground of a flow meter
    "lamp": 25,
    "usb_power": 24,  # high while a USB host powers the board
    "i2c": 0,
    "sda": 16,
    "scl": 17,
    "look_ms": 100,  # a light sleep is not ended by an input: look at them this often
    "nap_ms_max": 2000,  # the watchdog goes on counting in light sleep
    "hold_ms": 2000,  # before the watchdog: Ctrl-C gives a prompt that lasts
    "write_bytes": 1,  # a longer write may block for a host that does not read
}
_ESP32 = {
    "relay": 18,
    "second_relay": 4,
    "timer": 0,
    "battery": 34,
    "pressure": 35,
    "frost": 32,
    "current": 33,
    "load_sense": 19,
    "rain": 25,
    "button": 26,
    "flow": 13,
    "lamp": 27,
    "usb_power": -1,  # a USB bridge is powered apart; a byte received shows the host
    "i2c": 0,
    "sda": 21,
    "scl": 22,
    "look_ms": 100,
    "nap_ms_max": 2000,
    "hold_ms": 2000,
    "write_bytes": 16,
}
_VIRTUAL = dict(_RP2)
_VIRTUAL.update({"look_ms": 60000, "nap_ms_max": 60000, "hold_ms": 0, "write_bytes": 64})

TABLE = {"rp2": _RP2, "esp32": _ESP32, "linux": _VIRTUAL}
"""By ``sys.platform``. The virtual board is wired like the first; its inputs end a sleep."""

CHANNELS = ("battery", "pressure", "frost", "current")

RAIN = 1
BUTTON = 2

_SAMPLES = 16
_SHIFT = 8
"""The mean of 16 conversions of 16 bits, as 12 bits: a sum shifted by 4 + 4."""


class Channel:
    """One analogue input, as the keeper wants it: 0 to 4095, or -1 where it cannot be read."""

    def __init__(self, adc) -> None:
        self.adc = adc

    def read(self) -> int:
        """Mean of 16 conversions."""
        total = 0
        adc = self.adc
        try:
            for _ in range(_SAMPLES):
                total += adc.read_u16()
        except OSError:
            return -1
        return total >> _SHIFT


_FULL_UV_HUNDREDS = 33000
"""A count of 4096 stands for 3.3 V on every board: scales are the same for all of them."""


class CalibratedChannel(Channel):
    """The same of a converter that is bent, and whose port makes its readings straight.

    An ESP32 reads some 140 mV too low and bends near both ends (from memory); ``read_uv`` goes by
    what the maker has burnt into the chip. It steps by 1 mV; the mean of 16 by less.
    """

    def read(self) -> int:
        """Mean of 16 conversions."""
        total_uv = 0
        adc = self.adc
        try:
            for _ in range(_SAMPLES):
                total_uv += adc.read_uv()
        except OSError:
            return -1
        # In hundreds of microvolts: the product stays in 31 bits.
        count = (total_uv // (_SAMPLES * 100) << 12) // _FULL_UV_HUNDREDS
        return count if count < 4096 else 4095


class Inputs:
    """All inputs of the board. ``read`` allocates nothing."""

    def __init__(self, channels, load_sense, rain, button) -> None:
        """``channels``: four Channel in the order of CHANNELS; the rest are pins."""
        self._battery, self._pressure, self._frost, self._current = channels
        self._load_sense = load_sense
        self._rain = rain
        self._button = button
        self.flow: tuple = ()
        """The meter's Pulses (pulses.py), from when one is known to be fitted."""
        self.battery_n = self.pressure_n = self.frost_n = self.current_n = -1
        self.load_on = self.pulses = 0
        self.contacts = 0

    def read(self) -> None:
        """Read everything."""
        self.battery_n = self._battery.read()
        self.pressure_n = self._pressure.read()
        self.frost_n = self._frost.read()
        self.current_n = self._current.read()
        self.load_on = self._load_sense.value()
        self.contacts = self._closed()
        for meter in self.flow:
            self.pulses = meter.take()

    def count_pulses(self, machine, row) -> None:
        """A flow meter is fitted: its pulses are counted from here on."""
        if not self.flow:
            from .pulses import Pulses

            pin = machine.Pin
            self.flow = (Pulses(pin(row["flow"], pin.IN, pin.PULL_UP)),)

    def changed(self) -> bool:
        """Whether a contact differs from what was read last."""
        return self._closed() != self.contacts or self._load_sense.value() != self.load_on

    def _closed(self) -> int:
        closed = 0 if self._rain.value() else RAIN
        return closed if self._button.value() else closed + BUTTON


def inputs(machine, row) -> Inputs:
    """The inputs of a board, by its row of the table."""
    pin = machine.Pin
    converters = [machine.ADC(pin(row[name])) for name in CHANNELS]
    for converter in converters:
        if hasattr(converter, "atten"):
            # The ESP32 converts up to 1 V unless it is told to divide.
            converter.atten(machine.ADC.ATTN_11DB)
    channels = [
        CalibratedChannel(converter) if hasattr(converter, "read_uv") else Channel(converter)
        for converter in converters
    ]
    return Inputs(
        channels,
        pin(row["load_sense"], pin.IN, pin.PULL_DOWN),
        pin(row["rain"], pin.IN, pin.PULL_UP),
        pin(row["button"], pin.IN, pin.PULL_UP),
    )
