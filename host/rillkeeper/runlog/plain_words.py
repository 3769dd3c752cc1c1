"""A log in plain words while it is read: when, and what; minutes are put together."""

from collections.abc import Iterable, Iterator

from rillkeeper.display_units import Shown, clock_text, counted, day_text
from rillkeeper.runlog import sentences
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry, read_log

_MARKS = {sentences.STOP: "!!", sentences.WARNING: "! "}
_LEFT_OUT = ("decay", "learned", "normal")
"""Readings for `why` and the report, which say nothing to somebody who reads along."""


class PlainWords:
    """Takes raw lines as they come, and gives sentences."""

    def __init__(self, shown: Shown, fitted: Fitted) -> None:
        self._shown = shown
        self._fitted = fitted
        self._minutes: list[Entry] = []

    def take(self, lines: Iterable[str]) -> Iterator[str]:
        """The sentences of some lines; minutes wait for what comes after them."""
        for entry in read_log(lines).entries:
            if entry.kind == "minute":
                self._minutes.append(entry)
            elif entry.kind not in _LEFT_OUT:
                yield from self.rest()
                yield self._line(entry)

    def rest(self) -> Iterator[str]:
        """The minutes that still wait."""
        minutes, self._minutes = self._minutes, []
        if len(minutes) == 1:
            yield self._line(minutes[0])
        elif minutes:
            first, last = minutes[0], minutes[-1]
            told = sentences.tell(last, self._shown, self._fitted).seen
            told = told.replace("A minute of pumping", "the last one")
            count = counted(len(minutes), "minute")
            yield f"   {_when(first)}  {count} of pumping; {told}"

    def _line(self, entry: Entry) -> str:
        told = sentences.tell(entry, self._shown, self._fitted)
        text = f"{_MARKS.get(told.level, '  ')} {_when(entry)}  {told.seen} {told.did}"
        return f"{text.rstrip()} {told.look}".rstrip() if told.level else text.rstrip()


def _when(entry: Entry) -> str:
    if not entry.trusted:
        return "time not known  "
    return f"{day_text(entry.day):>10} {clock_text(entry.second)}"
