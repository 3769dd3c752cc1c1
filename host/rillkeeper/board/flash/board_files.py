"""What is on a board at its prompt: kind, room, files and their hashes."""

from dataclasses import dataclass, field
from importlib.resources import as_file, files

from rillkeeper.board.flash import mpremote
from rillkeeper.errors import RillkeeperError

PLATFORMS = ("rp2", "esp32", "linux")
"""Those that device/pins.py has a row for; the last is the virtual board."""
CHIPS = ("RP2040", "RP2350", "ESP32")
"""Those whose pins are as the row says."""
PYTHON_MIN = (1, 23, 0)
"""The oldest release in which every module of the firmware was imported, from sources and from
bytecode (its 32-bit build for browsers). hardware_notes/flashing.md says what each costs."""


class WrongBoard(RillkeeperError):
    """The firmware does not run on this board."""


@dataclass
class BoardFiles:
    """A board as it was found."""

    platform: str
    python: tuple[int, ...]
    bytecode: int
    """Version of the bytecode that it loads; 0 for none."""
    machine: str
    heap: int
    block_size: int
    blocks: int
    blocks_free: int
    radio: bool
    sizes: dict[str, int] = field(default_factory=dict)
    """Bytes of each file, by path."""
    folders: list[str] = field(default_factory=list)
    hashes: dict[str, str] = field(default_factory=dict)
    """SHA-256 of those that were asked for."""

    def room_for(self, sizes: list[int]) -> int:
        """How many blocks are missing for more files of these sizes; 0 where they fit."""
        folders = 4 * 2
        needed = sum(-(-size // self.block_size) for size in sizes) + folders
        return max(0, needed - self.blocks_free)


def look(port: str) -> BoardFiles:
    """Look at a board at its prompt; changes nothing."""
    with as_file(files("rillkeeper.board.flash.onboard") / "look.py") as script:
        lines = mpremote.run(port, ["run", str(script), "+", "exec", "look()"])
    words = dict(line.split(" ", 1) for line in lines if " " in line)
    rows = [line.split(" ", 2) for line in lines if line[:2] in ("f ", "d ")]
    try:
        block_size, blocks, blocks_free = (int(word) for word in words["blocks"].split(" "))
        return BoardFiles(
            platform=words["platform"],
            python=tuple(int(part) for part in words["python"].split(".")),
            bytecode=int(words["bytecode"]),
            machine=words["machine"],
            heap=int(words["heap"]),
            block_size=block_size,
            blocks=blocks,
            # On a nearly full flash littlefs may count more blocks as used than there are, and
            # MicroPython tells what is then free as a huge number.
            blocks_free=blocks_free if blocks_free <= blocks else 0,
            radio=words["radio"] == "1",
            sizes={path: int(size) for sort, size, path in rows if sort == "f"},
            folders=[path for sort, _, path in rows if sort == "d"],
        )
    except (KeyError, ValueError):
        raise mpremote.CopyFailed(f"{port}: what is at the prompt is no MicroPython") from None


def hashes(port: str, paths: list[str]) -> dict[str, str]:
    """SHA-256 of files on the board, worked out there."""
    if not paths:
        return {}
    lines = mpremote.run(port, ["fs", "sha256sum", *[f":/{path}" for path in paths]])
    found: dict[str, str] = {}
    path = ""
    for line in lines:
        if line.startswith("sha256sum :/"):
            path = line.removeprefix("sha256sum :/")
        elif len(line) == 64:
            found[path] = line
    return found


def check_kind(board: BoardFiles, force: bool) -> None:
    """Raise WrongBoard where the firmware would not run, or its pins would not be right."""
    wanted = ".".join(str(part) for part in PYTHON_MIN)
    has = ".".join(str(part) for part in board.python)
    if board.platform not in PLATFORMS:
        raise WrongBoard(
            f'this board is of the kind "{board.platform}" ({board.machine}); the firmware runs '
            "on RP2040 and ESP32 boards"
        )
    if board.python < PYTHON_MIN:
        raise WrongBoard(
            f"this board has MicroPython {has}; the firmware needs {wanted} or later: put that "
            "on first (hardware_notes/flashing.md)"
        )
    if force or board.platform == "linux":
        return
    if board.machine.rpartition(" with ")[2] not in CHIPS:
        raise WrongBoard(
            f"this board is a {board.machine}, for which no pins are known; look at "
            "firmware/device/pins.py, then say --force"
        )
    if board.platform == "rp2" and board.radio:
        raise WrongBoard(
            "this board has a radio on the pins of lamp, USB sense and current channel; use one "
            "without, or look at firmware/device/pins.py, then say --force"
        )
