"""Results that outlive a run: a line of JSON for each case, with the state of the tree.

The folder is `.campaign/`, which git ignores. A line that was made from another state of the
files that decide it is not read, so that no results are mixed; nor is one that was cut short.
"""

import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from tests.campaign.part import Part, Row, Rows

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / ".campaign"
KINDS = (".py", ".toml", ".csv", ".json")


def tree_of(paths: Iterable[str], root: Path = ROOT) -> str:
    """A mark of these files and of all that lie in these folders: other bytes, another mark."""
    digest = hashlib.sha256()
    for path in sorted(paths):
        whole = root / path
        files = sorted(whole.rglob("*")) if whole.is_dir() else [whole]
        for file in files:
            if file.suffix in KINDS and "node_modules" not in file.parts:
                digest.update(file.relative_to(root).as_posix().encode())
                digest.update(file.read_bytes())
    return digest.hexdigest()[:12]


class Kept:
    """The results of one part."""

    def __init__(self, part: Part, folder: Path = FOLDER) -> None:
        self.tree = tree_of(part.made_of)
        self.path = folder / f"{part.name}.jsonl"
        self.rows: Rows = {}
        self.seconds = 0.0
        if self.path.exists():
            for line in self.path.read_text(encoding="utf-8").splitlines():
                self._read(line)

    def add(self, case: str, row: Row, seconds: float) -> None:
        """Keep one result, at once."""
        self.rows[case] = row
        self.seconds += seconds
        self.path.parent.mkdir(exist_ok=True)
        line = {"tree": self.tree, "case": case, "seconds": round(seconds, 3), "row": row}
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(line) + "\n")

    def _read(self, line: str) -> None:
        try:
            read = json.loads(line)
        except ValueError:
            return
        if read["tree"] == self.tree:
            self.rows[read["case"]] = read["row"]
            self.seconds += read["seconds"]
