"""The demo week beside that of another revision: ``python -m tests.bench.week_beside REVISION``.

Each replays in a process of its own that waits between its weeks, so that they take turns and a
busy machine troubles both alike. What the boards wrote is held together as well: what is new in
the plant or in the garden is no matter of the board.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.beside import unpack
from tests.bench.table import Row, ratio_row, seconds_text, table_lines
from tests.bench.timing import Times
from tests.interpreters import rigs

GOAL = 1.15
PACKAGES = ("firmware/keeper", "sim", "host")
WEEKS = """
import gc, hashlib, sys, time
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
site = demo_site()
settings = settings_of(site)
for line in sys.stdin:
    gc.collect()
    start_s = time.process_time()
    week = replay(site, settings, nights=int(line))
    taken_s = time.process_time() - start_s
    print(taken_s, hashlib.sha256("\\n".join(week.log).encode()).hexdigest(), flush=True)
"""


def rows(revision: str, nights: int = 7, repeats: int = 5) -> list[Row]:
    """Time and log of the tree against those of the revision; a first week is not counted."""
    with tempfile.TemporaryDirectory() as name:
        library = Path(name)
        unpack(revision, PACKAGES, library)
        sides = [_process(rigs.ROOT), _process(library)]
        told = [[_week(side, nights) for side in sides] for _ in range(1 + repeats)]
        for side in sides:
            side.communicate()
    ours, theirs = (Times(tuple(turn[place][0] for turn in told[1:])) for place in (0, 1))
    same = len({digest for turn in told for _, digest in turn}) == 1
    words = f"the demonstration's {nights} nights"
    return [
        ratio_row(
            f"{words}, replayed",
            seconds_text(ours),
            f"{seconds_text(theirs)} at {revision}",
            ours.middle_s / theirs.middle_s,
            GOAL,
        ),
        Row(f"{words}: the board's log", "-", "-", "same" if same else "other", "same", same),
    ]


def _process(root: Path) -> subprocess.Popen[str]:
    """A process that replays a week for each line it is given, out of a tree."""
    path = os.pathsep.join(str(root / folder) for folder in ("firmware", "sim", "host"))
    return subprocess.Popen(
        (sys.executable, "-c", WEEKS),
        env={**os.environ, "PYTHONPATH": path},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def _week(side: subprocess.Popen[str], nights: int) -> tuple[float, str]:
    """Processor time of a week [s], and a mark of its log."""
    assert side.stdin is not None
    assert side.stdout is not None
    side.stdin.write(f"{nights}\n")
    side.stdin.flush()
    seconds, digest = side.stdout.readline().split()
    return float(seconds), digest


if __name__ == "__main__":
    print("\n".join(table_lines(rows(sys.argv[1]))))
