"""Reads a board's run log into the archive: from where the last reading ended, chunk by chunk.

Each chunk is kept before the next is asked for, so that a board that is unplugged in between
loses nothing. The newest record of the archive is read again each time: when the board has
another record under its number, its numbering has begun anew.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from keeper.crc import sealed
from rillkeeper.board.link.talk import Refused, Talk
from rillkeeper.runlog.store import Archive

_FEW, _MANY = 8, 40
"""Records asked for at once: many on a clean line, so that it is busy most of the time; few
where some came torn, and so must be sent again."""

_ROUNDS = 4
"""How often a chunk is asked for that never comes whole; each is asked several times over."""


@dataclass(frozen=True)
class Chunk:
    """One answer of the log."""

    records: dict[int, str]
    """Lines as the board keeps them, by sequence number."""
    next: int
    """From where to ask on."""
    oldest: int
    end: int
    """The number that the board's next record gets."""
    damaged: int
    """Lines that never came whole: they are damaged on the board's flash."""


class Fetch:
    """One reading of one board's log."""

    def __init__(self, talk: Talk, archive: Archive, board: str) -> None:
        self._talk = talk
        self._archive = archive
        self._board = board
        self._spell, self._next = 0, -1
        self._count = _FEW
        self.damaged = 0
        self.dropped = 0
        """Records that the board had given up before they were read."""
        self.anew = False
        """Whether the board's numbering has begun anew since the last reading."""
        self.end = 0

    @property
    def next(self) -> int:
        """The number from which it reads on."""
        return self._next

    def read(self) -> Iterator[list[str]]:
        """The new lines, chunk by chunk, up to where the board's log ends now.

        Called again it goes on from there.
        """
        if self._next < 0:
            self._next = self._first()
        while True:
            before = self._talk.garbled
            chunk = read_chunk(self._talk, self._next, self._count)
            self._count = _MANY if self._talk.garbled == before else _FEW
            self.end = chunk.end
            self.damaged += chunk.damaged
            if self._next < chunk.oldest and not self._is_first_reading():
                self.dropped += chunk.oldest - self._next
            new = self._archive.add(self._board, self._spell, chunk.records.values())
            if new:
                yield new
            if chunk.next <= self._next:  # Nothing more: the rest is not on flash yet.
                return
            self._next = chunk.next
            if self._next >= chunk.end:
                return

    def _is_first_reading(self) -> bool:
        last = self._archive.last(self._board)
        return last is None or last.spell != self._spell

    def _first(self) -> int:
        """Where to begin, and in which spell."""
        last = self._archive.last(self._board)
        if last is None:
            return 0
        self._spell = last.spell
        chunk = read_chunk(self._talk, last.seq)
        same = chunk.records.get(last.seq, last.line) == last.line
        if chunk.end > last.seq and same:
            return last.seq + 1
        self.anew = True
        self._spell += 1
        return 0


def read_chunk(talk: Talk, seq: int, count: int = _FEW) -> Chunk:
    """The next few records from a number on, put together from several answers if need be."""
    records: dict[int, str] = {}
    for _ in range(_ROUNDS):
        answer = talk.ask(f"log {seq} {count}", like="ok next=")
        if answer.refusal is not None:
            raise Refused(f"the board does not give its log: {answer.refusal}")
        for line in answer.lines:
            number = line.split(" ")[0]
            if number.isdigit() and int(number) >= seq:
                records[int(number)] = sealed(line)
        words = answer.words()
        after, oldest, end = (int(words[name]) for name in ("next", "oldest", "end"))
        wanted = range(max(seq, oldest), after)
        damaged = sum(number not in records for number in wanted) if answer.garbled else 0
        late = after <= seq < end  # It looks like the answer to an earlier question.
        if not damaged and not late:
            break
    return Chunk(dict(sorted(records.items())), after, oldest, end, damaged)
