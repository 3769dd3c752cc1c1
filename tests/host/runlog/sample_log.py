"""A log written by hand: three nights of a board, with what a reader must make of it.

The figures are round, so that what the report says can be checked in the head.
"""

from keeper.lines import day_number, format_line
from keeper.records import KINDS

FIRST_DAY = day_number("2026-06-01")
_NUMBERS = {name: number for number, (name, _) in enumerate(KINDS)}


class Writer:
    """Writes lines as the board does, one number after the other."""

    def __init__(self, seq: int = 0) -> None:
        self.seq = seq
        self.lines: list[str] = []

    def add(self, when: str, kind: str, *numbers: int, trusted: bool = True) -> None:
        """``when`` is "d hh:mm:ss", d counting days from the first noon's."""
        day, _, clock = when.partition(" ")
        hours, minutes, seconds = map(int, clock.split(":"))
        second = hours * 3600 + minutes * 60 + seconds
        row = [self.seq, FIRST_DAY + int(day), second, int(trusted), _NUMBERS[kind], *numbers]
        assert len(numbers) == len(KINDS[_NUMBERS[kind]][1]), kind
        self.lines.append(format_line(row + [0] * (11 - len(row))))
        self.seq += 1


def minutes(log: Writer, day: int, first: int, count: int, pressure_pa: int, mv: int) -> None:
    """Minute records from ``first`` minutes after 22:00 on; the voltage falls by 1 mV each."""
    for minute in range(first, first + count):
        when = f"{day} {22 + minute // 60}:{minute % 60:02d}:00"
        log.add(when, "minute", pressure_pa, mv - (minute - first), 12000, 16000, 30000 - minute)


def sample() -> Writer:
    """Night 0: 20 min and all given. Night 1: the line is shut. Night 2: rain."""
    log = Writer()
    log.add("0 18:00:00", "boot", 0, 1, 1, 30000, trusted=False)
    log.add("0 18:00:00", "battery", 12650, 30000, trusted=False)
    log.add("0 18:00:00", "clock", 0, 0)
    log.add("0 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("0 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
    log.add("0 22:00:04", "primed", 2000, 150000, 12000)
    log.add("0 22:00:09", "learned", 40, 12640, 12160, 12000, 150000)
    minutes(log, 0, 1, 20, 150000, 12000)
    log.add("0 22:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000)
    log.add("0 22:20:04", "given", 1, 0, 1200, 320000, 3200)
    log.add("0 22:20:05", "decay", 1000, 20000, 12500)
    log.add("1 12:00:00", "night", 1202, 320000, 4100, 25900, 58, 12550)
    log.add("1 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("1 22:00:02", "start", 1, 1, 12540, 25850, 150, 10000)
    log.add("1 22:00:04", "primed", 2000, 150000, 11900)
    minutes(log, 1, 1, 5, 150000, 11900)
    log.add("1 22:05:34", "trip", 1, 290000, 190000, 600, 4, 1)
    log.add("1 22:05:34", "stop", 17, 332, 290000, 11900, 1100, 88000)
    log.add("1 22:10:36", "start", 1, 1, 12500, 24700, 150, 10000)
    log.add("1 22:10:37", "trip", 1, 300000, 190000, 600, 5, 1)
    log.add("1 22:10:37", "stop", 17, 1, 300000, 11900, 1104, 0)
    log.add("1 22:10:37", "given", 1, 17, 330, 88000, 880)
    log.add("2 12:00:00", "night", 333, 88000, 1200, 24600, 55, 12530)
    log.add("2 21:00:00", "rain", 1)
    log.add("2 22:00:00", "skip", 1, 2, 0)
    log.add("3 07:00:00", "rain", 0)
    log.add("3 12:00:00", "night", 0, 0, 100, 24500, 8, 12530)
    return log
