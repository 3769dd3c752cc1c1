"""`make sentences`: all that the product says, in one file to be read."""

import sys
from itertools import groupby
from pathlib import Path

from rillkeeper.display_units import Shown
from tests.sentences.literals import literals
from tests.sentences.rendered import EVERYTHING, fitting_name, fittings, rendered


def text() -> str:
    """The file."""
    lines = ["What the board's records say, with every sensor", ""]
    every = EVERYTHING
    known: set[str] = set()
    for fitted in sorted(fittings(), key=lambda one: one != every):
        for one in rendered(fitted, Shown()):
            said = " ".join(f"{one.told.seen} {one.told.did} {one.told.look}".split())
            if said not in known:
                known.add(said)
                board = "" if fitted == every else f" [{fitting_name(fitted)}]"
                lines.append(f"{one.where}{board}: {one.told.short}: {said}")
    lines += ["", "What stands in the code", ""]
    for file, group in groupby(literals(), key=lambda one: one.file):
        lines += ["", file]
        lines += [f"{one.line}: {' '.join(one.text.split())}" for one in group]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    file = Path(sys.argv[1])
    file.write_text(text(), encoding="utf-8")
    print(f"{file}: {sum(bool(line) for line in text().splitlines())} sentences")
