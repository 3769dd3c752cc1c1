"""What the gardener does about the battery: home it goes when the board has said that it must.

Once a day, at the hour at which the battery would leave, somebody reads what the board has
written since the day before. It must go where the board has stopped until it is charged, or
where a night's record leaves less than one night more.
"""

from collections.abc import Callable, Sequence

from keeper.lines import BadLine, parse_line
from keeper.records import FIRST, KIND, NIGHT, TRIP
from keeper.rules import ACTION, FLAT, RULES
from rillsim.site import HomeSpec
from rillsim.timeline import DAY_S, TICKS_PER_S

ONE_NIGHT_TENTHS = 10
_NIGHTS_TENTHS = FIRST + 4


class Habit:
    """Reads the log once a day."""

    def __init__(self, home: HomeSpec, start_s: int) -> None:
        self._next_n = ((home.away_from_s - start_s) % DAY_S) * TICKS_PER_S
        self._read = 0
        self._asks = home.when_asked

    def goes_home(self, n: int, read_log: Callable[[], Sequence[str]]) -> bool:
        """Whether the battery is to leave now. The log is read only when it is looked at: a whole
        firmware's is on its flash, and takes a while."""
        if not self._asks or n < self._next_n:
            return False
        self._next_n += DAY_S * TICKS_PER_S
        log = read_log()
        fresh, self._read = log[self._read :], len(log)
        return any(_asked(line) for line in fresh)


def _asked(line: str) -> bool:
    try:
        record = parse_line(line)
    except BadLine:
        return False
    if record[KIND] == NIGHT:
        return bool(record[_NIGHTS_TENTHS] < ONE_NIGHT_TENTHS)
    return bool(record[KIND] == TRIP and RULES[record[FIRST]][ACTION] == FLAT)
