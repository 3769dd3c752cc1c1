"""Cuts the power at every flash operation of whole flashings, flips every bit of the checker, and
prints what would start."""

import os
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests import outside
from tests.host.board.flash.flashing import versions
from tests.power import flashcuts, flippedbits

CASES = (
    ("an empty board", None, ()),
    ("the version before, both as bytecode", (), ()),
    ("sources to bytecode", ("--py",), ()),
    ("bytecode to sources", (), ("--py",)),
)
"""Name, options of the firmware that is there, options of the one that is flashed."""


def sweeps() -> Iterator[tuple[str, Counter[str]]]:
    """What is left by each cut of each flashing: its name, and counts."""
    micropython = outside.find("micropython")
    if micropython is None:
        sys.exit("micropython is missing; " + outside.HOW_TO_GET["micropython"])
    os.environ["XDG_DATA_HOME"] = tempfile.mkdtemp()
    old, new = versions(Path(tempfile.mkdtemp()))
    for name, first, second in CASES:
        before = [] if first is None else ["--firmware", str(old), *first]
        recording = flashcuts.record(micropython, before, ["--firmware", str(new), *second])
        yield name, flashcuts.sweep(recording)


def main() -> None:
    """Record, cut, print; fails where any cut leaves a mixture."""
    bad = 0
    for name, found in sweeps():
        tried = sum(found.values())
        mixed = found[flashcuts.MIXTURE]
        bad += mixed
        print(f"flashing {name}: {tried - mixed} of {tried} cuts leave no mixture")
        for what, count in found.most_common():
            print(f"  {count:5d}  {what}")
    flips = flippedbits.sweep()
    tried = sum(flips.values())
    bad += flips["passes"]
    print(f"flipped bits of the checker: {tried - flips['passes']} of {tried} do not pass")
    for what, count in flips.most_common():
        print(f"  {count:5d}  {what}")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
