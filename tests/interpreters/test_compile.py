"""Every file for the board compiles to the board's bytecode, and the bytecode loads."""

import ast
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.board.flash.firmware import COMPILE
from tests.interpreters import rigs
from tests.interpreters.flashed import as_flashed

pytestmark = pytest.mark.interpreter

FILES = sorted(path for path in rigs.FIRMWARE.rglob("*.py"))

# A page of the board's flash file system is 4 KiB and its program space some 1.4 MB; the whole
# control package as bytecode must stay a small part of that, and a quarter of 264 kB of RAM.
# What of it stays on the heap is judged by `make sizes`: less since the checks of settings leave.
KEEPER_BYTES_MAX = 60 * 1024


def compile_to(folder: Path, mpy_cross: Path, path: Path) -> Path:
    target = (folder / path.relative_to(rigs.FIRMWARE)).with_suffix(".mpy")
    target.parent.mkdir(parents=True, exist_ok=True)
    done = subprocess.run(
        [mpy_cross, *COMPILE, "-o", target, path], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return target


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(rigs.FIRMWARE)))
def test_compiles(path: Path, need: Callable[[str], Path], tmp_path: Path) -> None:
    assert compile_to(tmp_path, need("mpy-cross"), path).stat().st_size > 0


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(rigs.FIRMWARE)))
def test_asserts_nothing(path: Path) -> None:
    """Bytecode is made without assertions: what must hold is held otherwise."""
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    assert not any(isinstance(node, ast.Assert) for node in nodes)


def test_bytecode_loads_and_is_small(need: Callable[[str], Path], tmp_path: Path) -> None:
    """The compiled package alone, without its sources, imports in a MicroPython."""
    sizes = as_flashed(tmp_path, packages=("keeper",))
    assert sum(sizes.values()) < KEEPER_BYTES_MAX
    shutil.copy(rigs.SCRIPTS / "import_keeper.py", tmp_path)
    done = subprocess.run(
        [need("micropython"), "import_keeper.py"],
        cwd=tmp_path,
        env={"MICROPYPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    compiled = tmp_path / "keeper/__init__.mpy"
    assert done.stdout.split() == ["True", str(compiled)], done.stdout + done.stderr
