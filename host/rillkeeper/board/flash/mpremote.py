"""Stock mpremote as a process of its own: its lines as they come, its failure as one sentence."""

import importlib.util
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from time import monotonic
from typing import IO

from rillkeeper.errors import NoBoard

SILENCE_S = 45.0
"""The longest file of the firmware takes some five seconds at 115200 baud."""
_END_S = 15.0
"""It has said all by then; a busy machine may take long to end it."""
_MEANINGS = {
    "No space left": "its flash is full",
    "Read-only file system": "its flash cannot be written",
    "Input/output error": "its flash fails",
    "could not enter raw repl": "no MicroPython prompt",
    "failed to access": "the port is busy or gone",
    "timeout waiting": "the board has stopped answering",
    "could not complete raw paste": "the board has stopped answering",
    "unexpected read": "the board has started again meanwhile",
    "SerialException": "the port has failed",
}
_UNPLUGGED = "the board was unplugged"


class CopyFailed(NoBoard):
    """mpremote is missing, or gave up; the text says why."""


def run(
    port: str, words: list[str], heard: Callable[[str], None] = lambda line: None
) -> list[str]:
    """Run commands of mpremote on a board at its prompt, without resetting it first.

    Parameters
    ----------
    port : str
        Where the board is
    words : list of str
        The commands, joined by "+"
    heard : callable
        Told each line that comes

    Raises
    ------
    CopyFailed
        mpremote is missing, fails or falls silent
    """
    if not importlib.util.find_spec("mpremote"):
        raise CopyFailed("mpremote is missing; run: pip install mpremote")
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "mpremote", "connect", port, "resume", *words],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
        # A Ctrl-C is for this process, which then says what state the board is in.
        start_new_session=os.name != "nt",
    )
    lines = []
    try:
        for line in _lines(process):
            lines.append(line)
            heard(line)
        status = process.wait(_END_S)
    except BaseException:
        _stop(process)
        raise
    if status != 0:
        raise CopyFailed(f"{port}: {_UNPLUGGED if _is_gone(port) else _meaning(lines)}")
    return lines


def _lines(process: "subprocess.Popen[str]") -> Iterator[str]:
    """Lines as they come. Raises CopyFailed when none has come for long."""
    assert process.stdout is not None
    came: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_feed, args=(process.stdout, came), daemon=True).start()
    last = monotonic()
    while True:
        try:
            line = came.get(timeout=0.2)  # Short, or Ctrl-C would have to wait on some systems.
        except queue.Empty:
            if monotonic() - last > SILENCE_S:
                raise CopyFailed(
                    f"nothing from mpremote for {SILENCE_S:.0f} s: the board was unplugged, or "
                    "does not answer"
                ) from None
            continue
        if line is None:
            return
        last = monotonic()
        yield line.rstrip("\n")


def _feed(stream: IO[str], came: "queue.Queue[str | None]") -> None:
    for line in stream:
        came.put(line)
    came.put(None)


def _stop(process: "subprocess.Popen[str]") -> None:
    process.terminate()
    try:
        process.wait(_END_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _is_gone(port: str) -> bool:
    """Whether a device that had a path has none any more."""
    return port.startswith("/") and not os.path.exists(port)


def _meaning(lines: list[str]) -> str:
    """Why mpremote gave up, in words where they are known, else its own last line."""
    text = "\n".join(lines)
    for sign, meaning in _MEANINGS.items():
        if sign in text:
            return f"mpremote gave up: {meaning}"
    said = [line.strip() for line in lines if line.strip()]
    return (
        f"mpremote gave up: {said[-1].removeprefix('mpremote: ') if said else 'it says nothing'}"
    )
