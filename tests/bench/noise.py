"""Noise on the serial line: bytes that mean nothing, and changes with errors in them."""

import json
import random
import tempfile
from pathlib import Path

from tests import outside
from tests.bench.table import Row
from tests.device import bursts
from tests.device.desk import Desk
from tests.device.line import Line
from tests.device.test_serial import CHANGES
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

SAMPLE = 100
CTRL_C = 3
"""On a board's port it ends the program, and so opens the relay: it is no noise."""
PIECE_BYTES = 4000


def rows(noise_bytes: int = 10_000_000, port_bytes: int = 1_000_000) -> list[Row]:
    """The line's own code in MicroPython, the whole firmware behind its port, then the bursts."""
    return [_heap_row(noise_bytes), _port_row(port_bytes), _bursts_row()]


def _heap_row(noise_bytes: int) -> Row:
    with tempfile.TemporaryDirectory() as folder:
        case = {"settings": BOARD, "bytes": noise_bytes}
        (Path(folder) / "case.json").write_text(json.dumps(case), encoding="utf-8")
        told = json.loads(rigs.interpreter("unix").run("serial_noise.py", Path(folder)))
    early, late = told["used"]
    return Row(
        f"{noise_bytes:,} fuzzed bytes in MicroPython: {told['answers']:,} lines answered",
        f"{told['made']} changes, heap {late - early:+d} bytes",
        goal="0 changes, no growth",
        met=told["made"] == 0 and late - early < 1024,
    )


def noise(chance: random.Random, size: int) -> bytes:
    """Half random bytes, half the words that mean something, in disorder."""
    words = [text.encode() for text in (*CHANGES, "help", " #", " ~", "0", "\n", "\r", "log ")]
    some = chance.randbytes(size // 2).replace(bytes([CTRL_C]), b"")
    while len(some) < size:
        some += b"".join(chance.choice(words) for _ in range(50))
    return some


def relay_under_noise(folder: Path, port_bytes: int, seed: int = 7) -> tuple[int, int, int, int]:
    """The whole firmware with noise on its port: (bytes, ticks, how often the relay was closed
    while idle, and how often it was not while running by hand)."""
    chance = random.Random(seed)
    closed = opened = 0
    with Desk(outside.need("micropython"), folder, BOARD) as desk:
        sent = 0
        while sent < port_bytes // 2:
            sent += _put(desk, noise(chance, PIECE_BYTES))
            closed += sum(desk.ticks(4))
        desk.put(b"\n")
        desk.ticks(20)
        assert desk.make("run 3") == "ok asked run"
        while not desk.ticks(1)[0]:
            pass
        for _ in range(200):
            sent += _put(desk, noise(chance, PIECE_BYTES))
            opened += desk.ticks(4).count(0)
        return sent, desk.n, closed, opened


def _put(desk: Desk, data: bytes) -> int:
    try:
        desk.put(data)
    except BlockingIOError:
        return 0
    return len(data)


def _port_row(port_bytes: int) -> Row:
    with tempfile.TemporaryDirectory() as folder:
        sent, ticks, closed, opened = relay_under_noise(Path(folder), port_bytes)
    return Row(
        f"{sent:,} fuzzed bytes on the port of the whole firmware, {ticks:,} ticks",
        f"relay changes: {closed + opened}",
        goal="0",
        met=closed + opened == 0,
    )


def _bursts_row() -> Row:
    tried = parsed = accepted = changed = 0
    for change in CHANGES:
        line = Line()
        line.sealed(change)
        before = line.state()
        tally = bursts.sweep(line, change, SAMPLE)
        tried += tally.tried
        parsed += tally.parsed
        accepted += tally.accepted
        changed += line.state() != before
    return Row(
        f"all bursts to 16 bits of {len(CHANGES)} sealed changes ({parsed:,} through the parser)",
        f"{tried - accepted:,} of {tried:,} refused",
        goal="all",
        met=accepted == changed == 0,
    )
