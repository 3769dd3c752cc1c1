"""The Python interpreters that the control package must behave alike in.

Each runs the same script over the same files: `firmware/` is on the script's path, and the
files of a data folder lie in its working folder. What it prints is the answer.
"""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests import outside

ROOT = Path(__file__).parents[2]
FIRMWARE = ROOT / "firmware"
SCRIPTS = Path(__file__).parent / "scripts"
WASM_RUN = outside.NODE_FOLDER / "wasm_run.mjs"

NAMES = ("cpython", "unix", "wasm")
"""This Python; MicroPython's unix port (64 bits: its small ints have 63); MicroPython built for
wasm (32 bits: small ints of 31 bits and a tick that wraps at 2**30, as on the board)."""


class Broken(AssertionError):
    """The script ended with an error; the text is what it said."""


@dataclass(frozen=True)
class Interpreter:
    """One way to run a script."""

    name: str
    before: tuple[str, ...]
    after: tuple[str, ...] = ()
    library: Path = FIRMWARE

    def run(self, script: str | Path, data: Path, timeout_s: float = 300.0) -> str:
        """What the script prints; a plain name is one of `scripts/`."""
        path = SCRIPTS / script
        after = [part.format(data=data) for part in self.after]
        done = subprocess.run(
            [*self.before, str(path), *after],
            cwd=data,
            env={**os.environ, "PYTHONPATH": str(self.library), "MICROPYPATH": str(self.library)},
            capture_output=True,
            text=True,
            timeout=timeout_s,
            check=False,
        )
        if done.returncode != 0:
            raise Broken(
                f"{path.name} in {self.name}:\n{done.stdout[-2000:]}{done.stderr[-2000:]}"
            )
        return done.stdout


def interpreter(name: str, library: Path = FIRMWARE) -> Interpreter:
    """The interpreter of that name, or a skip that says what is missing."""
    if name == "cpython":
        return Interpreter(name, (sys.executable, "-B"), library=library)
    if name == "unix":
        micropython = str(outside.need("micropython"))
        return Interpreter(name, (micropython, "-X", "heapsize=32M"), library=library)
    outside.need("wasm")
    node = str(outside.need("node"))
    return Interpreter(name, (node, str(WASM_RUN)), (str(library), "{data}"), library)
