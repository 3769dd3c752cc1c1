"""The control step beside that of another revision: ``python -m tests.bench.beside REVISION``.

Both run in one interpreter and take turns on the readings of the demo week, so that a busy
machine troubles both alike; only pieces in which the pump ran are counted.
"""

import io
import json
import shutil
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Iterable
from pathlib import Path
from statistics import median

from rillkeeper.board.flash.firmware import compiled
from rillkeeper.board.flash.folding import folded
from tests.bench import interpreters
from tests.bench.interpreters import LABELS
from tests.bench.table import Row, table_lines
from tests.interpreters import rigs

SCRIPT = interpreters.SCRIPT.parent / "step_beside.py"
PACKAGE = "firmware/keeper"
FLASH = "host/rillkeeper/board/flash"


def rows(revision: str, nights: int = 2) -> list[Row]:
    """A row for each MicroPython, from sources and from bytecode as it goes to a board."""
    found = []
    with tempfile.TemporaryDirectory() as name:
        folder, library = Path(name) / "data", Path(name) / "library"
        folder.mkdir()
        interpreters.record_week(folder, nights)
        _packages(revision, library)
        for form in ("sources", "as flashed"):
            if form == "as flashed":
                _as_flashed(library)
            for interpreter in ("unix", "wasm"):
                told = rigs.interpreter(interpreter, library).run(SCRIPT, folder)
                found.append(_row(f"{LABELS[interpreter]}, {form}", revision, json.loads(told)))
    return found


def unpack(revision: str, folders: Iterable[str], library: Path) -> None:
    """Put folders of a revision into a library, as they lie in the tree."""
    archive = subprocess.run(
        ["git", "archive", revision, *folders], cwd=rigs.ROOT, check=True, capture_output=True
    )
    with tarfile.open(fileobj=io.BytesIO(archive.stdout)) as file:
        file.extractall(library, filter="data")


def _packages(revision: str, library: Path) -> None:
    """The package of a revision as ``before``, that of the tree as ``after``."""
    unpack(revision, (PACKAGE, FLASH), library)
    (library / PACKAGE).rename(library / "before")
    shutil.copytree(rigs.ROOT / PACKAGE, library / "after")


def _as_flashed(library: Path) -> None:
    """Bytecode in the place of the sources, constants folded where the revision does that."""
    folds = (library / FLASH / "folding.py").exists()
    for package, is_folded in (("before", folds), ("after", True)):
        paths = sorted((library / package).glob("*.py"))
        sources = {f"{package}/{path.name}": path.read_text(encoding="utf-8") for path in paths}
        for path, data in compiled(folded(sources, {}) if is_folded else sources):
            (library / path).write_bytes(data)
        for source in paths:
            source.unlink()


def _row(label: str, revision: str, pieces: list[tuple[int, int]]) -> Row:
    before, after = (min(piece[side] for piece in pieces) / 1024 for side in (0, 1))
    return Row(
        f"a step while the pump runs, {label}",
        f"{after:.2f} us",
        f"{before:.2f} us at {revision}",
        f"{median(after / before for before, after in pieces):.2f}x in {len(pieces)} pieces",
    )


if __name__ == "__main__":
    print("\n".join(table_lines(rows(sys.argv[1]))))
