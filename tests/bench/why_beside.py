"""A first and a later `rillkeeper why`: ``python -m tests.bench.why_beside REVISION``.

The whole command on the demonstration week, in a process of its own, as an owner starts it: the
first with an empty folder of data, so that the site's trials are made, the later ones with what
the first has kept. Wall time by all processors, and the processor time of all processes.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.beside import unpack
from tests.bench.table import Row, table_lines
from tests.bench.week_beside import PACKAGES
from tests.host.morning.sample_week import demo_week
from tests.interpreters import rigs

FIRST_GOAL_S, LATER_GOAL_S = 20.0, 2.0
ROOMS = ("firmware", "sim", "host")


def rows(revision: str, repeats: int = 3) -> list[Row]:
    """The sides take turns."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        unpack(revision, PACKAGES, folder / "theirs")
        log = folder / "week.log"
        log.write_text("\n".join(demo_week().log), encoding="ascii")
        sides = {"ours": rigs.ROOT, "theirs": folder / "theirs"}
        first = {side: _asked(root, folder / side, log) for side, root in sides.items()}
        later = dict.fromkeys(sides, (9000000000.0, 9000000000.0))
        for _ in range(repeats):
            for side, root in sides.items():
                later[side] = min(later[side], _asked(root, folder / side, log))
    return [
        _row("first why on a new site", first, revision, FIRST_GOAL_S),
        _row(f"a later why, the best of {repeats}", later, revision, LATER_GOAL_S),
    ]


def _row(name: str, took: dict[str, tuple[float, float]], revision: str, goal_s: float) -> Row:
    (ours_s, ours_cpu_s), (theirs_s, theirs_cpu_s) = took["ours"], took["theirs"]
    return Row(
        name,
        f"{ours_s:.1f} s, {ours_cpu_s:.1f} s of processors",
        f"{theirs_s:.1f} s, {theirs_cpu_s:.1f} s of processors at {revision}",
        f"{ours_cpu_s / theirs_cpu_s:.2f}x of processors",
        f"at most {goal_s:g} s",
        ours_s <= goal_s,
    )


def _asked(root: Path, data: Path, log: Path) -> tuple[float, float]:
    """Wall and processor seconds of one call."""
    data.mkdir(exist_ok=True)
    path = os.pathsep.join(str(root / room) for room in ROOMS)
    words = [sys.executable, "-m", "rillkeeper", "why", "--log", str(log)]
    spent_s, begun_s = _processor_s(), time.perf_counter()
    subprocess.run(
        words,
        env={**os.environ, "PYTHONPATH": path, "XDG_DATA_HOME": str(data)},
        check=True,
        capture_output=True,
    )
    return time.perf_counter() - begun_s, _processor_s() - spent_s


def _processor_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> None:
    """Measure, print."""
    (revision,) = sys.argv[1:]
    print("\n".join(table_lines(rows(revision))))


if __name__ == "__main__":
    main()
