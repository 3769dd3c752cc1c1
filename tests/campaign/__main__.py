"""Fresh seeds against the whole project, kept and gone on with: one page, and JSON beside it."""

import argparse
import os
import sys
import time
from pathlib import Path
from random import SystemRandom

from tests.campaign import page
from tests.campaign.kept import FOLDER, ROOT, Kept
from tests.campaign.part import Outcome, Part
from tests.campaign.parts import PARTS
from tests.campaign.run import run, timed

SEEDS = (1_000_000, 1_000_000_000)
"""Far from the fixed seeds of the tests and of the bench."""
HEADINGS = ("part", "cases", "of", "seconds", "verdicts")
STOPPED = 130
"""The status of a program that Ctrl-C has ended."""


def table(outcomes: list[Outcome]) -> list[str]:
    """A row a part."""
    rows = [HEADINGS]
    for one in outcomes:
        counts = ", ".join(f"{n} {verdict}" for verdict, n in one.verdicts.most_common())
        of = "no end" if one.total is None else str(one.total)
        rows.append((one.part.name, str(one.tried), of, f"{one.seconds:.0f}", counts))
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADINGS))]
    ruled = [rows[0], tuple("-" * width for width in widths), *rows[1:]]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in ruled
    ]


def first_seed(given: int | None, fresh: bool, folder: Path) -> int:
    """The seed given, that of the campaign under way, or a new one; it is kept."""
    file = folder / "seed"
    if given is None and not fresh and file.exists():
        return int(file.read_text())
    seed = SystemRandom().randrange(*SEEDS) if given is None else given
    folder.mkdir(exist_ok=True)
    file.write_text(f"{seed}\n")
    return seed


def arguments(words: list[str] | None) -> argparse.Namespace:
    """The command line."""
    names = [part.name for part in PARTS]
    parser = argparse.ArgumentParser(prog="python -m tests.campaign", description=__doc__)
    parser.add_argument("--seed", type=int, metavar="N", help="begin here; else go on, or draw")
    parser.add_argument("--fresh", action="store_true", help="draw another first seed")
    parser.add_argument("--only", choices=names, metavar="NAME", help=", ".join(names))
    parser.add_argument("--minutes", type=float, default=30.0, metavar="M", help="in all; 30")
    parser.add_argument("--cases", type=int, metavar="K", help="so many a part, however long")
    parser.add_argument("--case", metavar="CASE", help="one case of --only again, and all of it")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, metavar="W")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where results are kept")
    parser.add_argument("--page", type=Path, default=ROOT / "campaign.html")
    given = parser.parse_args(words)
    if given.case is not None and given.only is None:
        parser.error("--case needs --only: the part that it is a case of")
    return given


def one_case(part: Part, case: str) -> int:
    """Do one case again, whatever is kept of it, and tell it."""
    row, seconds = timed(part, case)
    outcome = Outcome(part, {case: row}, seconds)
    for key, value in row.items():
        print(f"{key}: {value}")
    print("\n".join(part.detail(case)))
    print(f"{outcome.verdict(case)}: {outcome.told(case)}")
    return 1 if outcome.failures else 0


def main(words: list[str] | None = None) -> int:
    """Run the parts; 1 where any has failed."""
    given = arguments(words)
    parts = [part for part in PARTS if given.only in (None, part.name)]
    if given.case is not None:
        return one_case(parts[0], given.case)
    first = first_seed(given.seed, given.fresh, given.folder)
    print(f"campaign from seed {first}", file=sys.stderr, flush=True)
    end_s = time.monotonic() + 60.0 * given.minutes
    outcomes: list[Outcome] = []
    stopped = False
    for place, part in enumerate(parts):
        kept = Kept(part, given.folder)
        outcomes.append(Outcome.of(part, first, kept.rows, kept.seconds))
        if stopped:
            continue
        seconds = max(end_s - time.monotonic(), 0.0) / (len(parts) - place)
        try:
            run(outcomes[-1], first, kept, seconds, given.cases, given.workers)
        except KeyboardInterrupt:
            stopped = True
    outcomes = [one for one in outcomes if one.rows]
    print("\n".join(table(outcomes)))
    for one in outcomes:
        for sentence in one.part.summary(one.rows):
            print(f"{one.part.name}: {sentence}")
    page.write(outcomes, first, given.page)
    print(f"\nthe page is {given.page.name}, and {given.page.with_suffix('.json').name} beside it")
    failed = [one.part.name for one in outcomes if one.failed]
    if failed:
        print(f"failed: {', '.join(failed)}")
    if stopped:
        print("stopped; what is done is kept: make campaign goes on")
        return STOPPED
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
