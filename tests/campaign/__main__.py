"""Fresh seeds against the whole project: each seed is said, and what repeats it."""

import argparse
import sys
from random import SystemRandom

from tests.campaign.part import Outcome, run
from tests.campaign.parts import PARTS

SEEDS = (1_000_000, 1_000_000_000)
"""Far from the fixed seeds of the tests and of the bench."""
HEADINGS = ("part", "seed", "seeds", "cases", "failures", "seconds", "again with")


def table(outcomes: list[Outcome]) -> list[str]:
    """A row a part."""
    rows = [HEADINGS]
    for one in outcomes:
        numbers = (one.seed, one.seeds, one.cases, len(one.failures), round(one.seconds))
        rows.append((one.part.name, *map(str, numbers), one.repeat()))
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
    ruled = [rows[0], tuple("-" * width for width in widths), *rows[1:]]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in ruled
    ]


def main(words: list[str] | None = None) -> int:
    """Run the parts; 1 where any has failed."""
    names = [part.name for part in PARTS]
    parser = argparse.ArgumentParser(prog="python -m tests.campaign", description=__doc__)
    parser.add_argument("--seed", type=int, metavar="N", help="the first seed; else drawn")
    parser.add_argument("--only", choices=names, metavar="NAME", help=", ".join(names))
    parser.add_argument(
        "--minutes", type=float, default=30.0, metavar="M", help="shared by the parts; 30"
    )
    parser.add_argument("--seeds", type=int, metavar="K", help="so many seeds, whatever it takes")
    given = parser.parse_args(words)
    first = SystemRandom().randrange(*SEEDS) if given.seed is None else given.seed
    parts = [part for part in PARTS if given.only in (None, part.name)]
    seconds = 60.0 * given.minutes / len(parts)
    print(f"campaign from seed {first}", file=sys.stderr, flush=True)
    outcomes = [run(part, first, given.seeds, seconds) for part in parts]
    print("\n".join(table(outcomes)))
    failed = [one.part.name for one in outcomes if one.failed]
    if failed:
        print(f"\nfailed: {', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
