"""How long the board is awake and how long it sleeps, by what its own loop does in a day.

The loop runs with the naps of a real board's row in the table of pins: looks at the inputs every
so often, a tick at least every two seconds for the watchdog. Time passes in its sleeps, and in
what a slow processor needs for a tick and for a look (tests/device/uartline.py).
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from device import board, output, pins
from rillsim.site import BoardSpec
from tests.device.uartline import ATTEND_US, TICK_US
from tests.power.ramboard import EVENING_S, SET_S, MemoryFlash, Site, new_flash, no_port
from virtual import chips

DAY_MS = 86_400_000


@dataclass
class Course:
    """Milliseconds of a day."""

    awake_ms: float = 0.0
    asleep_ms: float = 0.0
    pumping_ms: float = 0.0
    unfed_ms: float = 0.0
    """The longest that a sleep of the chip came to lie after the watchdog was fed."""

    @property
    def mean_a(self) -> float:
        """What the board draws on average, by the simulator's figures of a board."""
        spec = BoardSpec()
        asleep = self.asleep_ms / (self.awake_ms + self.asleep_ms)
        return spec.awake_a + asleep * (spec.asleep_a - spec.awake_a)

    @property
    def expected_a(self) -> float:
        """The same as the limits have it: awake while it pumps, else asleep."""
        spec = BoardSpec()
        awake = self.pumping_ms / (self.awake_ms + self.asleep_ms)
        return spec.asleep_a + awake * (spec.awake_a - spec.asleep_a)


class Machine:
    """The virtual board's chips, with a sleep that is counted."""

    Pin, ADC, I2C, RTC = chips.Pin, chips.ADC, chips.I2C, chips.RTC

    def __init__(self, course: Course, site: Site, start_s: float) -> None:
        self._course = course
        self._site = site
        self.now_ms = self._fed_ms = start_s * 1000.0
        self.WDT = lambda timeout: self

    def feed(self) -> None:
        """The watchdog's."""
        self._fed_ms = self.now_ms

    def ticks_ms(self) -> int:
        return int(self.now_ms)

    def lightsleep(self, ms: int) -> None:
        course = self._course
        course.asleep_ms += ms
        course.unfed_ms = max(course.unfed_ms, self.now_ms + ms - self._fed_ms)
        chips.fall_behind(ms)
        self._pass(ms)
        self.work_ms(ATTEND_US / 1000.0)

    def sleep_ms(self, ms: int) -> None:
        self.work_ms(ms)

    def work_ms(self, ms: float) -> None:
        """Time passes awake."""
        self._course.awake_ms += ms
        self._pass(ms)

    def _pass(self, ms: float) -> None:
        if chips.LINK.relay:
            self._course.pumping_ms += ms
        self.now_ms += ms
        self._site.show(int(self.now_ms))


@contextmanager
def a_clock(chip: bool) -> Iterator[None]:
    """Boards made inside find a clock chip, or none and their own clock right."""
    fitted, chips.I2C.fitted = chips.I2C.fitted, chip
    chips.RTC.behind_ms = 0
    try:
        yield
    finally:
        chips.I2C.fitted = fitted
        chips.RTC.behind_ms = 0


def day(port: str, start_s: float = EVENING_S - SET_S, chip: bool = True) -> Course:
    """A day with one set, by that board's row of the table, with a clock chip or without."""
    course = Course()
    site = Site()
    row = dict(pins.TABLE["linux"])
    row.update({key: pins.TABLE[port][key] for key in ("look_ms", "nap_ms_max")})
    chips.LINK.relay = 0
    with no_port(), a_clock(chip):
        machine = Machine(course, site, start_s)
        site.show(machine.ticks_ms())
        relay = output.relays(chips, row)
        made = board.Board(machine, machine, row, relay, MemoryFlash(new_flash()), "")
        made.serial.attend = lambda: False  # type: ignore[method-assign]
        made.dog.arm()
        end_ms = machine.now_ms + DAY_MS
        while machine.now_ms < end_ms:
            made.clock.read()
            made.tick()
            machine.work_ms(TICK_US / 1000.0)
            made.look_after()
            made.wait()
    return course
