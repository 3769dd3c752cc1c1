"""The run log as the board writes it: text lines to entries, and what is missing among them.

A log may be read in pieces that overlap, a line may be torn in the cable, and a full log drops
its oldest pages. Nothing of that is hidden: what could not be read is counted and said.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from keeper.lines import date_text, parse_line, time_text
from keeper.plan import night_of
from keeper.records import BOOT, DAY, FIRST, KIND, KINDS, SECOND, SEQ, TRUST

SEQ_TURN = 1 << 30
"""The board's numbering begins again at 0 after this many records."""

_DAY_S = 86400
_LEAP_S = 30 * _DAY_S
"""A clock without a date that goes on by more in one step was set, or has lost itself."""

Row = list[int]


@dataclass(frozen=True)
class Entry:
    """One record of the log."""

    seq: int
    day: int
    """Days since 1970-01-01, by the board's clock."""
    second: int
    """Of the day."""
    trusted: bool
    """Whether the board believed its clock."""
    kind: str
    numbers: Mapping[str, int]
    night: int
    """The night it belongs to: the day number of the noon at which that night began. Where the
    clock was not believed, the night in which its neighbours put it."""

    def __getitem__(self, name: str) -> int:
        return self.numbers[name]

    @property
    def since_noon_s(self) -> int:
        """Seconds since the noon at which the night began."""
        return (self.day - self.night) * 86400 + self.second - 43200


@dataclass(frozen=True)
class Damage:
    """A line of the log that is no record."""

    line: int
    """Counted from 1."""
    reason: str


@dataclass(frozen=True)
class Gap:
    """Records that the numbering promises and the log does not have."""

    missing: int
    """How many; 0 where the numbering began anew, and nobody can tell."""
    sentence: str


@dataclass(frozen=True)
class RunLog:
    """What could be read of a log, and what could not."""

    entries: tuple[Entry, ...]
    damages: tuple[Damage, ...]
    gaps: tuple[Gap, ...]
    duplicates: int

    @property
    def missing(self) -> int:
        """Records that are known to be missing."""
        return sum(gap.missing for gap in self.gaps)

    @property
    def whole(self) -> bool:
        """Whether nothing speaks against the log."""
        return not self.damages and not self.gaps


def read_log(lines: Iterable[str]) -> RunLog:
    """Entries of a log in the order in which they were written.

    >>> log = read_log(["12 2026-07-09 20:30:00 ok rain closed=1 ~CC55", "12 2026-07-09 20:3"])
    >>> [entry.kind for entry in log.entries], [str(d.reason) for d in log.damages]
    (['rain'], ['torn or damaged'])
    """
    spells: list[dict[int, Row]] = [{}]
    damages: list[Damage] = []
    duplicates = 0
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            row = parse_line(line)
        except (ValueError, IndexError, OverflowError) as error:
            damages.append(Damage(number, _reason(error)))
            continue
        spell = spells[-1]
        if any(known.get(row[SEQ]) == row for known in spells):
            duplicates += 1
        elif row[SEQ] in spell or _first_of_another(row, spell):
            spells.append({row[SEQ]: row})
        else:
            spell[row[SEQ]] = row
    ordered = [_in_order(spell) for spell in spells]
    rows = [row for spell in ordered for row in spell]
    return RunLog(
        entries=tuple(_entries(rows)),
        damages=tuple(damages),
        gaps=tuple(_gaps(ordered)),
        duplicates=duplicates,
    )


def moment_text(row: Row) -> str:
    """Date and time of a record, or that the clock was not to be believed.

    >>> moment_text([7, 20643, 81000, 1, 0])
    '2026-07-09 22:30:00'
    """
    if not row[TRUST]:
        return "a time not known"
    return f"{date_text(row[DAY])} {time_text(row[SECOND])}"


def _reason(error: Exception) -> str:
    text = str(error)
    return "of another version" if "another version" in text else "torn or damaged"


def _first_of_another(row: Row, spell: dict[int, Row]) -> bool:
    """Whether this is the first record of a new numbering, not of an earlier piece."""
    if row[KIND] != BOOT or row[SEQ] or not spell:
        return False
    return (row[DAY], row[SECOND]) > min((known[DAY], known[SECOND]) for known in spell.values())


def _in_order(spell: dict[int, Row]) -> list[Row]:
    """By number; a numbering that has turned over goes on after its highest number."""
    rows = [spell[seq] for seq in sorted(spell)]
    if not rows or rows[-1][SEQ] - rows[0][SEQ] < SEQ_TURN // 2:
        return rows
    low = [row for row in rows if row[SEQ] < SEQ_TURN // 2]
    return rows[len(low) :] + low


def _gaps(spells: list[list[Row]]) -> list[Gap]:
    found = []
    for number, rows in enumerate(spells):
        if number:
            at = moment_text(rows[0])
            found.append(
                Gap(
                    0,
                    f"The numbering begins anew at {at}: another board, or a log that was wiped.",
                )
            )
        for before, after in zip(rows, rows[1:], strict=False):
            missing = (after[SEQ] - before[SEQ] - 1) % SEQ_TURN
            if missing:
                noun = "record is" if missing == 1 else "records are"
                found.append(
                    Gap(
                        missing,
                        f"{missing} {noun} missing between {moment_text(before)} and "
                        f"{moment_text(after)}.",
                    )
                )
    return found


def _entries(rows: list[Row]) -> list[Entry]:
    found = []
    for row, night in zip(rows, _nights(rows), strict=True):
        kind, names = KINDS[row[KIND]]
        numbers = dict(zip(names, row[FIRST:], strict=False))
        found.append(
            Entry(row[SEQ], row[DAY], row[SECOND], bool(row[TRUST]), kind, numbers, night)
        )
    return found


def _nights(rows: list[Row]) -> list[int]:
    """The night of each record: by its time, or, where that is not known, by `_placed`."""
    seconds: list[int | None] = [_stamp_s(row) if row[TRUST] else None for row in rows]
    place = 0
    while place < len(rows):
        end = place
        while end < len(rows) and seconds[end] is None:
            end += 1
        if end > place:
            before = seconds[place - 1] if place else None
            after = seconds[end] if end < len(rows) else None
            seconds[place:end] = _placed(rows[place:end], before, after)
        place = end + 1
    return [night_of(*divmod(second if second is not None else 0, _DAY_S)) for second in seconds]


def _placed(rows: list[Row], before: int | None, after: int | None) -> list[int]:
    """Times for records without one, between those of their neighbours; seconds since 1970.

    The stamps of a clock that was never set still say how much time went by. From one start of
    the board to the next they go on from what came before; a start that the next date follows
    on ends there: a clock is set soon after the power has come.
    """
    spells: list[list[Row]] = []
    for row in rows:
        lost = spells and _stamp_s(row) < _stamp_s(spells[-1][-1])
        if not spells or row[KIND] == BOOT or lost:
            spells.append([])
        spells[-1].append(row)
    reached = before if before is not None else _DAY_S // 2 if after is None else after
    found: list[int] = []
    for number, spell in enumerate(spells):
        gone = _gone_s(spell)
        ends = after is not None and number == len(spells) - 1
        if ends and (before is None or spell[0][KIND] == BOOT):
            assert after is not None
            times = [after - gone[-1] + one for one in gone]
        else:
            times = [reached + one for one in gone]
        if before is not None and after is not None:
            low, high = min(before, after), max(before, after)
            times = [min(max(one, low), high) for one in times]
        found += times
        reached = times[-1]
    return found


def _gone_s(spell: list[Row]) -> list[int]:
    """Seconds from its first record to each; a leap of the clock is no time."""
    found = [0]
    for earlier, later in pairwise(spell):
        step_s = _stamp_s(later) - _stamp_s(earlier)
        found.append(found[-1] + (step_s if step_s < _LEAP_S else 0))
    return found


def _stamp_s(row: Row) -> int:
    return row[DAY] * _DAY_S + row[SECOND]
