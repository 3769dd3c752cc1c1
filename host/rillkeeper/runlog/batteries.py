"""Which records tell of another battery, and which of the same one after a restart."""

from collections.abc import Iterator, Sequence

from rillkeeper.runlog.lines import Entry

CHARGED_JUMP_MAH = 1000
"""A count that goes up by more than this: the battery was charged, or is another."""


def batteries_put_on(entries: Sequence[Entry]) -> Iterator[Entry]:
    """The records that tell of another battery, or of one charged; the first opens the log.

    A restart is no battery: firmware before 0.2 wrote such a record at every start, with the same
    count or a lower one.
    """
    left_mah = None
    before = ""
    for place, entry in enumerate(entries):
        if entry.kind == "battery":
            opens = all(other.kind == "boot" for other in entries[:place])
            gains = left_mah is None or entry["left_mah"] > left_mah + CHARGED_JUMP_MAH
            if opens or before != "boot" or gains:
                yield entry
        before = entry.kind
        left_mah = entry.numbers.get("left_mah", left_mah)
