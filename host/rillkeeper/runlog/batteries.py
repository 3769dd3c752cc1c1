"""Which records tell of another battery, and which of the same one after a restart."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from rillkeeper.runlog.lines import Entry

CHARGED_JUMP_MAH = 1000
"""A count that goes up by more than this: the battery was charged, or is another."""


def counts_brought_down(entries: Sequence[Entry]) -> Iterator[Entry]:
    """The records in which the board, without a restart, brings its own count down."""
    left_mah = 0
    before = ""
    for entry in entries:
        if entry.kind == "battery" and before != "boot" and entry["left_mah"] < left_mah:
            yield entry
        before = entry.kind
        left_mah = entry.numbers.get("left_mah", left_mah)


def charged_in_place(entries: Sequence[Entry]) -> Iterator[Entry]:
    """Those of them in which the board, which the battery feeds, was not without it meanwhile: it
    was charged where it stands, or nothing but its reading went up."""
    put_on = {id(entry) for entry in batteries_put_on(entries)}
    for before, entry in pairwise(entries):
        if id(entry) in put_on and before.kind != "boot":
            yield entry


def batteries_put_on(entries: Sequence[Entry]) -> Iterator[Entry]:
    """The records that tell of another battery, or of one charged; the first opens the log.

    A restart is no battery: older firmware wrote such a record at every start, with the same count
    or a lower one. Nor is a count that the board brings down by itself, since the battery rests
    lower than it should: that is for `why` to explain.
    """
    left_mah = None
    before = ""
    for place, entry in enumerate(entries):
        if entry.kind == "battery":
            opens = all(other.kind == "boot" for other in entries[:place])
            gains = left_mah is None or entry["left_mah"] > left_mah + CHARGED_JUMP_MAH
            kept = left_mah is not None and entry["left_mah"] >= left_mah
            if opens or gains or (before != "boot" and kept):
                yield entry
        before = entry.kind
        left_mah = entry.numbers.get("left_mah", left_mah)
