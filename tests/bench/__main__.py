"""Runs every figure and prints the table; ``--quick`` for a look at a tenth of the sizes."""

import argparse
import platform
import sys
import time

from tests.bench import (
    board,
    desk,
    interpreters,
    learned,
    nights_left,
    other_battery,
    pace,
    pump_hour,
    season,
    sizes,
    small_tests,
    tick,
    walk,
    week,
)
from tests.bench.table import Row, table_lines

CAPTION = """\
Speed and accuracy, measured in one run. The sides of a ratio took turns; a time is the median
of its repeats, its spread the longest less the shortest. Times are processor time, except in
the interpreters, which time their own steps, and of the pace, which is held to a clock."""


def all_rows(quick: bool, only: str = "") -> list[Row]:
    """The figures one after the other, announced on standard error; or only some, by name."""
    figures = {
        "week against EPANET": lambda: week.rows(*((2, 20, 3) if quick else ())),
        "plant against control": lambda: tick.rows(*((10, 3) if quick else ())),
        "pump hour against LSODA": lambda: pump_hour.rows(*((360, 3) if quick else ())),
        "sizing against EPANET": lambda: sizes.rows(*((4, 3) if quick else ())),
        "desk": lambda: desk.rows(*((20,) if quick else ())),
        "nights left": lambda: nights_left.rows(*((9,) if quick else ())),
        "nights left, another's battery": lambda: other_battery.rows(*((6,) if quick else ())),
        "learn": lambda: learned.rows(*((3,) if quick else ())),
        "interpreters": lambda: interpreters.rows(*((1, 3) if quick else ())),
        "small tests": lambda: small_tests.rows(*((2,) if quick else ())),
        "seasons": lambda: season.rows(*((7, 1, 2) if quick else ())),
        "pace": lambda: pace.rows(*((4.0,) if quick else ())),
        "walk on 32 bits": lambda: walk.rows(*((100_000,) if quick else ())),
    }
    figures.update(board.figures(quick))
    rows: list[Row] = []
    for name, measure in figures.items():
        if only and only not in name:
            continue
        print(f"measuring: {name}", file=sys.stderr)
        rows += measure()
    return rows


def main() -> None:
    """Measure, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a tenth of the sizes")
    parser.add_argument("--only", default="", metavar="WORD", help="figures with this in the name")
    given = parser.parse_args()
    start_s = time.perf_counter()
    rows = all_rows(given.quick, given.only)
    print(CAPTION)
    print(f"Python {platform.python_version()} on {platform.machine()}.\n")
    print("\n".join(table_lines(rows)))
    missed = sum(row.met is False for row in rows)
    asked = sum(row.met is not None for row in rows)
    taken_s = time.perf_counter() - start_s
    print(f"\n{asked - missed} of {asked} goals met. Measured in {taken_s:.0f} s.")


if __name__ == "__main__":
    main()
