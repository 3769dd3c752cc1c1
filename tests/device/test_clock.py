"""The board's time: from a clock chip, or from its own ticks."""

import pytest

from device import clock


class Chip:
    """Registers of a DS3231 (data sheet 19-5170 figure 1; from memory): BCD, status at 0F."""

    def __init__(self) -> None:
        self.registers = bytearray(19)
        self.there = True

    def readfrom_mem_into(self, address: int, register: int, buffer: bytearray) -> None:
        if not self.there or address != 0x68:
            raise OSError(19)
        buffer[:] = self.registers[register : register + len(buffer)]

    def writeto_mem(self, address: int, register: int, buffer: bytes) -> None:
        if not self.there:
            raise OSError(19)
        self.registers[register : register + len(buffer)] = buffer


def test_chip_keeps_and_tells_the_time() -> None:
    chip = Chip()
    chip.registers[0x0F] = 0x88
    now = clock.ChipClock(chip)
    now.read()
    assert (now.day, now.second, now.ok) == (0, 0, 0), "its oscillator has stopped"
    now.set(2026, 7, 9, 22 * 3600 + 30 * 60 + 59)
    assert list(chip.registers[:7]) == [0x59, 0x30, 0x22, 1, 0x09, 0x07, 0x26]
    assert chip.registers[0x0F] == 0x08, "only the flag is cleared"
    now.read()
    # 2026-07-09 is day 20643: `date -u -d 2026-07-09 +%s` gives 1783555200.
    assert (now.day, now.second, now.ok) == (1783555200 // 86400, 81059, 1)
    chip.registers[4] = 0x10
    now.read()
    assert now.day == 1783555200 // 86400 + 1
    chip.there = False
    now.read()
    assert not now.ok


def good_chip() -> Chip:
    """It shows 2026-07-09 22:30:59."""
    chip = Chip()
    chip.registers[:7] = bytes([0x59, 0x30, 0x22, 1, 0x09, 0x07, 0x26])
    return chip


@pytest.mark.parametrize(
    ("register", "byte"),
    [
        (0, 0x60),
        (0, 0x1A),
        (1, 0xA0),
        (2, 0x24),
        (4, 0x00),
        (4, 0x32),
        (5, 0x00),
        (5, 0x13),
        (6, 0x23),
        (6, 0xFF),
    ],
)
def test_what_no_clock_can_show_is_no_time(register: int, byte: int) -> None:
    """Seconds, minutes, hours, date, month, year: digits above nine, numbers out of range."""
    chip = good_chip()
    now = clock.ChipClock(chip)
    now.read()
    assert now.ok
    chip.registers[register] = byte
    now.read()
    assert (now.day, now.second, now.ok) == (0, 0, 0)


@pytest.mark.parametrize("byte", [0x00, 0xFF])
def test_a_bus_without_a_chip_is_no_time(byte: int) -> None:
    """Its status floats too; or only that came through."""
    chip = Chip()
    chip.registers[:7] = bytes([byte] * 7)
    now = clock.ChipClock(chip)
    now.read()
    assert (now.day, now.second, now.ok) == (0, 0, 0)


@pytest.mark.parametrize(
    ("year", "month", "date", "ok"),
    [(0x28, 2, 0x29, 1), (0x27, 2, 0x29, 0), (0x28, 4, 0x31, 0), (0x28, 0x12, 0x31, 1)],
)
def test_no_month_is_longer_than_it_is(year: int, month: int, date: int, ok: int) -> None:
    """2028 is a leap year, 2027 none."""
    chip = good_chip()
    chip.registers[4:7] = bytes([date, month, year])
    now = clock.ChipClock(chip)
    now.read()
    assert now.ok == ok


@pytest.mark.parametrize(("noisy", "ok"), [(0, 1), (1, 1), (2, 1), (3, 0), (9, 0)])
def test_a_reading_counts_that_was_seen_twice(noisy: int, ok: int) -> None:
    """A disturbed bus: so many readings of the seconds differ, each from each."""
    chip = good_chip()

    class Disturbed:
        left = noisy

        def readfrom_mem_into(self, address: int, register: int, buffer: bytearray) -> None:
            chip.readfrom_mem_into(address, register, buffer)
            if register == 0 and self.left:
                self.left -= 1
                buffer[6] = 0x30 + self.left

    now = clock.ChipClock(Disturbed())
    now.read()
    assert now.ok == ok
    assert now.second == (81059 if ok else 0)


class Rtc:
    """A board's own clock, which stands still unless it is set."""

    def __init__(self, *now: int) -> None:
        self.now = now
        self.written: list[tuple[int, ...]] = []

    def datetime(self, new: tuple[int, ...] | None = None) -> tuple[int, ...]:
        if new is not None:
            self.now = new
            self.written.append(new)
        return self.now


EVENING = (2026, 7, 9, 3, 22, 30, 59, 0)
DAY_20643_S = 1783555200
"""2026-07-09: `date -u -d 2026-07-09 +%s`."""


def test_own_clock_that_was_never_set() -> None:
    rtc = Rtc(2021, 1, 1, 4, 0, 0, 0, 0)
    now_ms = [0]
    own = clock.OwnClock(rtc, lambda: now_ms[0])
    for now_ms[0] in (100, 61000, 86_400_000):
        own.read()
        assert (own.day, own.second, own.ok) == (0, 0, 0)
    assert not rtc.written, "a time that nobody knows is not written down"
    own.set(2026, 7, 9, 22 * 3600 + 30 * 60 + 59)
    assert (own.day, own.second, own.ok) == (DAY_20643_S // 86400, 81059, 1)
    assert rtc.now[:7] == (2026, 7, 9, 0, 22, 30, 59)
    assert clock.OwnClock(rtc, lambda: now_ms[0]).second == 81059, "the next start finds it"


@pytest.mark.parametrize("step_ms", [100, 999, 1000, 2000, 60000, 2**30 - 1])
def test_own_time_goes_by_the_ticks(step_ms: int) -> None:
    """Across the counter's wrap and midnight, whatever the clock itself does meanwhile."""
    now_ms = [2**30 - 1500]
    rtc = Rtc(*EVENING)
    own = clock.OwnClock(rtc, lambda: now_ms[0])
    passed_ms = 0
    while passed_ms < 2 * 3_600_000:
        passed_ms += step_ms
        now_ms[0] = (now_ms[0] + step_ms) & (2**30 - 1)
        own.read()
        second = DAY_20643_S + 81059 + passed_ms // 1000
        assert (own.day, own.second, own.ok) == (*divmod(second, 86400), 1)
    again = clock.OwnClock(rtc, lambda: now_ms[0])
    behind_s = second - (again.day * 86400 + again.second)
    assert 0 <= behind_s < 60 + step_ms // 1000, "a soft reset finds the time of a minute ago"
    assert len(rtc.written) <= passed_ms // 60000 + 1
