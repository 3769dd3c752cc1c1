"""The list of files for MicroPython's own installer.

    python -m rillkeeper.board.flash.package FOLDER

It puts packages under /lib; boot.py, main.py and the board's list of files are not its business,
and `rillkeeper flash` adds them.
"""

import json
import sys
from pathlib import Path

from rillkeeper.board.flash.firmware import firmware

NAME = "package.json"
_LIB = "lib/"


def package_text(folder: Path) -> str:
    """The file for a firmware folder, a line for each module."""
    found = firmware(folder, bytecode=False)
    modules = [path.removeprefix(_LIB) for path in found.files if path.startswith(_LIB)]
    rows = ",\n".join(f"    {json.dumps([path, path])}" for path in modules)
    head = f'{{\n  "version": "{found.version}",\n  "deps": [],\n  "urls": [\n'
    return f"{head}{rows}\n  ]\n}}\n"


def main() -> None:
    """Write it."""
    folder = Path(sys.argv[1])
    (folder / NAME).write_text(package_text(folder), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
