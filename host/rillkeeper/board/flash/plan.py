"""What differs between a board's files and a firmware, and what must be done about it."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from rillkeeper.board.flash.board_files import BoardFiles
from rillkeeper.board.flash.firmware import LIST, MAIN, PACKAGES, File, Firmware

NEW, CHANGED, SAME, REMOVED = "new", "changed", "same", "to be removed"
READY = "new"
"""The folder on the board in which files wait for their turn."""
HOLD = "hold.py"
"""The main.py of the meantime, in that folder."""
HOLD_TEXT = (
    b'print("rillkeeper: the firmware is not whole, the pump does not run; run: '
    b'rillkeeper flash")\n'
)


@dataclass(frozen=True)
class Row:
    """One file of the listing."""

    path: str
    what: str
    size: int
    sha256: str
    """Empty for a file that goes."""


def rows_by_hash(board: BoardFiles, wanted: Firmware) -> list[Row]:
    """The listing of a board at its prompt, whose hashes are known."""
    rows = []
    for path, file in sorted(wanted.files.items()):
        if path not in board.sizes:
            what = NEW
        else:
            what = SAME if board.hashes.get(path) == file.sha256 else CHANGED
        rows.append(Row(path, what, len(file.data), file.sha256))
    gone = {path: size for path, size in board.sizes.items() if _is_foreign(path, wanted)}
    for top in PACKAGES:  # In the root such a folder would hide the one under lib.
        if top in board.folders:
            inside = [size for path, size in board.sizes.items() if path.startswith(f"{top}/")]
            gone[f"{top}/"] = sum(inside)
    return rows + [Row(path, REMOVED, gone[path], "") for path in sorted(gone)]


def rows_by_list(listed: dict[str, tuple[str, int]], wanted: Firmware) -> list[Row]:
    """The listing of a board whose firmware runs and gives its list: path -> (CRC-32, size)."""
    rows = []
    for path, file in sorted(wanted.files.items()):
        if path == LIST:
            same = set(listed) == set(wanted.files) - {LIST} and all(
                _is_listed(listed, wanted, other) for other in listed
            )
            what = SAME if same else CHANGED
        elif path not in listed:
            what = NEW
        else:
            what = SAME if _is_listed(listed, wanted, path) else CHANGED
        rows.append(Row(path, what, len(file.data), file.sha256))
    gone = sorted(set(listed) - set(wanted.files))
    return rows + [Row(path, REMOVED, listed[path][1], "") for path in gone]


def _is_foreign(path: str, wanted: Firmware) -> bool:
    """Whether a module would be taken for one of the firmware, and is not."""
    folder, _, name = path.rpartition("/")
    stem, _, ending = name.rpartition(".")
    if path in wanted.files or ending not in ("py", "mpy"):
        return False
    return stem in PACKAGES if not folder else folder in [f"lib/{top}" for top in PACKAGES]


def to_stage(rows: list[Row], wanted: Firmware) -> dict[str, File]:
    """What must lie ready on the board before it can switch over, by path there.

    The list and main.py are always among it.
    """
    staged = [File(f"{READY}/{HOLD}", HOLD_TEXT)]
    for row in rows:
        if row.what in (NEW, CHANGED) or row.path in (LIST, MAIN):
            staged.append(File(f"{READY}/{row.path}", wanted.files[row.path].data))
    return {file.path: file for file in staged}


def leftovers(board: BoardFiles, staged: Collection[str]) -> list[str]:
    """Files of an interrupted copying that are of no use now."""
    return [path for path in board.sizes if path.startswith(f"{READY}/") and path not in staged]


def folders_for(staged: Iterable[str]) -> list[str]:
    """The folders that must be there first, outer ones before inner ones."""
    found: dict[str, None] = {}
    for path in sorted(staged):
        words = path.split("/")[:-1]
        for depth in range(1, len(words) + 1):
            found["/".join(words[:depth])] = None
    return list(found)


def _is_listed(listed: dict[str, tuple[str, int]], wanted: Firmware, path: str) -> bool:
    file = wanted.files.get(path)
    return file is not None and listed[path] == (file.crc, len(file.data))
