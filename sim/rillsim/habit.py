"""What the gardener does when looking at the board: the battery goes home when it has said so.

Once a day or so, at the hour at which the battery would leave, somebody reads what the board has
written since the last time. The battery must go where the board has stopped until it is charged,
or where a night's record leaves less than one night more. Who comes to look at all clears what
has locked the board, too.
"""

from collections.abc import Callable, Sequence

from keeper.lines import BadLine, parse_line
from keeper.records import FIRST, KIND, KINDS, NIGHT, TRIP
from keeper.rules import ACTION, FLAT, RULES
from rillsim.site import HomeSpec
from rillsim.timeline import DAY_S, NEVER, TICKS_PER_S

ONE_NIGHT_TENTHS = 10
_NIGHTS_TENTHS = FIRST + 4
_TELLING = tuple(f" {KINDS[kind][0]} " for kind in (NIGHT, TRIP))
"""Lines without these words are not worth reading whole."""


class Habit:
    """Reads the log once a day, or every so many."""

    def __init__(self, home: HomeSpec, start_s: int) -> None:
        self.next_n = ((home.away_from_s - start_s) % DAY_S) * TICKS_PER_S
        """From when on somebody looks at the next chance."""
        self._read = 0
        self._asks = home.when_asked
        self.clears = home.looks_every > 0
        """Whether who looks clears what has locked the board."""
        if not (self._asks or self.clears):
            self.next_n = NEVER
        self._every_n = max(home.looks_every, 1) * DAY_S * TICKS_PER_S

    def looks(self, n: int) -> bool:
        """Whether somebody looks now."""
        if n < self.next_n:
            return False
        self.next_n += self._every_n
        return True

    def goes_home(self, read_log: Callable[[], Sequence[str]]) -> bool:
        """Whether the battery is to leave after this look. The log is read only then: a whole
        firmware's is on its flash, and takes a while."""
        if not self._asks:
            return False
        log = read_log()
        fresh, self._read = log[self._read :], len(log)
        return any(_asked(line) for line in fresh)


def _asked(line: str) -> bool:
    if not any(kind in line for kind in _TELLING):
        return False
    try:
        record = parse_line(line)
    except BadLine:
        return False
    if record[KIND] == NIGHT:
        return bool(record[_NIGHTS_TENTHS] < ONE_NIGHT_TENTHS)
    return bool(record[KIND] == TRIP and RULES[record[FIRST]][ACTION] == FLAT)
