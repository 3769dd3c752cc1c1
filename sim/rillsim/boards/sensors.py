"""What the board's converter reads: true values made into 12-bit counts, with every flaw.

The four analogue channels are battery, pressure, frost and current, in that order. A channel
that is not fitted reads nothing. A board has its own gain and offset errors, drawn once from
the seed; noise is a function of the tick.
"""

from rillsim.boards import converter
from rillsim.boards.flowpulses import FlowPulses
from rillsim.noise import (
    PIECE_BITS,
    PIECE_MASK,
    SENSORS,
    TOLERANCES,
    WIRES,
    NormalStream,
    UniformStream,
    generator,
    within_two,
)
from rillsim.site import BoardSpec

BATTERY, PRESSURE, FROST, CURRENT = range(4)
CHANNELS = 4
PLACES = (0, 1, 4, 5)
"""Where each channel stands among the counts that the board takes."""

GOOD, OPEN, SHORT, STUCK, CLOGGED = range(5)
"""State of a channel's wiring. An open channel is pulled to nothing by its divider, a short to
the sensor's supply drives it to the top, and a stuck one repeats one count for ever; one whose
port is clogged goes on measuring what was there then, with the noise of a sound one."""

NOISE_COUNTS = 0.6
"""Mean of sixteen conversions, all quiet. Common practice, no source."""
BRUSH_COUNTS = 0.8
"""What a running motor's brushes add on the battery channel. Common practice, no source."""
RIPPLE = 0.01
"""Effective ripple of a diaphragm pump on its outlet, as a share of the pressure. Common
practice, no source."""

GAIN_SPREAD = (0.003, 0.005, 0.0, 0.01)
"""Resistors of 1 % in the divider, a 0.5 % transducer, a 1 % shunt amplifier; a temperature
sensor has an offset instead. Common practice, no source."""
OFFSET_SPREAD_COUNTS = (1.0, 4.0, 6.0, 3.0)


class Sensors:
    """All channels of one board."""

    def __init__(self, board: BoardSpec, seed: int, codes: str = "ideal") -> None:
        self._codes = converter.CONVERTERS[codes]()
        # The current channel comes last: where there is none, the others draw the same.
        self._noise = NormalStream(seed, SENSORS, CHANNELS if board.current_fitted else CURRENT)
        self._touch = UniformStream(seed, WIRES)
        self._fitted = (
            board.battery_fitted,
            board.pressure_fitted,
            board.frost_fitted,
            board.current_fitted,
        )
        self.meter = FlowPulses(board, seed) if board.flow_fitted else None
        self._ideal = ideal_gain, ideal_offset = self._ideal_scales(board)
        errors = generator(seed, TOLERANCES).standard_normal((2, CHANNELS)).tolist()
        self.gain = [
            gain * (1.0 + spread * within_two(error))
            for gain, spread, error in zip(ideal_gain, GAIN_SPREAD, errors[0], strict=True)
        ]
        self.offset = [
            offset + spread * within_two(error)
            for offset, spread, error in zip(
                ideal_offset, OFFSET_SPREAD_COUNTS, errors[1], strict=True
            )
        ]
        self.shift = [0.0] * CHANNELS
        """Counts that a drifted channel reads beside what it should."""
        self.wiring = [GOOD] * CHANNELS
        self.wiring_share = [1.0] * CHANNELS
        """Share of the ticks in which a broken wire is felt: less than 1 is a loose one."""
        self.swapped = False
        self._all_good = True
        self._held = [0] * CHANNELS

    @staticmethod
    def _ideal_scales(board: BoardSpec) -> tuple[list[float], list[float]]:
        steps = float(converter.STEPS)
        per_frost_c = converter.FROST_V_PER_C / converter.REFERENCE_V * steps
        gain = [
            steps / board.battery_full_v,
            steps * converter.TRANSDUCER_SPAN / board.pressure_span_pa,
            per_frost_c,
            steps / board.current_span_a,
        ]
        frost_zero = converter.FROST_ZERO_V / converter.REFERENCE_V * steps
        return gain, [0.0, steps * converter.TRANSDUCER_ZERO, frost_zero, 0.0]

    def be_exact(self) -> None:
        """Take away this board's own gain and offset errors, and its meter's; the noise stays."""
        self.gain, self.offset = (list(scale) for scale in self._ideal)
        if self.meter is not None:
            self.meter.be_exact()

    def set_wiring(self, channel: int, state: int, share: float = 1.0, held: int = 0) -> None:
        """Break or mend one channel; a stuck or clogged one shows the count ``held``."""
        self._held[channel] = held
        self.wiring[channel] = state
        self.wiring_share[channel] = share
        self._all_good = self.wiring == [GOOD] * CHANNELS and not self.swapped

    def set_drift(self, battery_v: float, pressure_pa: float, current_a: float) -> None:
        """Let the zero of divider, transducer and current sensor stand beside the true one."""
        self.shift[BATTERY] = self.gain[BATTERY] * battery_v
        self.shift[PRESSURE] = self.gain[PRESSURE] * pressure_pa
        self.shift[CURRENT] = self.gain[CURRENT] * current_a

    def set_swapped(self, swapped: bool) -> None:
        """Exchange the wires of battery and pressure."""
        self.swapped = swapped
        self._all_good = self.wiring == [GOOD] * CHANNELS and not swapped

    def expected(self, channel: int, value: float) -> float:
        """Count of a faultless channel for a true value in SI units, before noise."""
        return self.gain[channel] * value + self.offset[channel]

    def settled(self, channel: int, value: float) -> float:
        """Mean of the counts that a sound channel shows for a true value: the noise takes what
        is left behind the point evenly."""
        return self.expected(channel, value) + self.shift[channel] - 0.5

    def fill(
        self,
        counts: list[int],
        n: int,
        battery_v: float,
        pressure_pa: float,
        air_c: float,
        current_a: float,
    ) -> None:
        """Put the four channels of tick ``n`` into ``counts`` at 0, 1, 4 and 5.

        ``current_a`` is the pump's; where it flows, brushes and ripple add to the noise.
        """
        noise = self._noise
        if n >> PIECE_BITS != noise.piece:
            noise.load(n >> PIECE_BITS)
        at = n & PIECE_MASK
        rows = noise.rows
        gain = self.gain
        offset = self.offset
        battery_noise = pressure_noise = NOISE_COUNTS
        if current_a > 0.0:
            battery_noise += BRUSH_COUNTS
            pressure_noise += RIPPLE * gain[1] * abs(pressure_pa)
        shift = self.shift
        battery = battery_v * gain[0] + offset[0] + shift[0] + rows[0][at] * battery_noise
        pressure = pressure_pa * gain[1] + offset[1] + shift[1] + rows[1][at] * pressure_noise
        codes = self._codes
        counts[0] = codes[int(battery)] if 0.0 < battery < 4096.0 else _end(battery)
        counts[1] = codes[int(pressure)] if 0.0 < pressure < 4096.0 else _end(pressure)
        fitted = self._fitted
        if fitted[2]:
            frost = air_c * gain[2] + offset[2] + rows[2][at] * NOISE_COUNTS
            counts[4] = codes[int(frost)] if 0.0 < frost < 4096.0 else _end(frost)
        if fitted[3]:
            current = current_a * gain[3] + offset[3] + shift[3] + rows[3][at] * NOISE_COUNTS
            counts[5] = codes[int(current)] if 0.0 < current < 4096.0 else _end(current)
        if not self._all_good:
            self._break(counts, n)
        if not fitted[0]:
            counts[0] = 0
        if not fitted[1]:
            counts[1] = 0

    def _break(self, counts: list[int], n: int) -> None:
        """Overlay the broken channels."""
        if self.swapped:
            counts[0], counts[1] = counts[1], counts[0]
        for channel, place in enumerate(PLACES):
            state = self.wiring[channel]
            if state != GOOD and self._touch.at(n) < self.wiring_share[channel]:
                held = self._held[channel]
                if state == CLOGGED:
                    noise = self._noise.rows[channel][n & PIECE_MASK] * NOISE_COUNTS
                    held = min(max(int(held + 0.5 + noise), 0), converter.COUNT_MAX)
                broken = {OPEN: 0, SHORT: converter.COUNT_MAX}
                counts[place] = broken.get(state, held)


def _end(steps: float) -> int:
    """Code of an input at or past an end of the converter."""
    return 0 if steps <= 0.0 else converter.COUNT_MAX
