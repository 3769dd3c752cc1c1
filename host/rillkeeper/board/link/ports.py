"""Which ports a board may be behind, and choosing the only one by itself."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import click
from serial.tools import list_ports

from rillkeeper.data_folder import data_folder
from rillkeeper.errors import NoBoard

VARIABLE = "RILLKEEPER_PORT"
VIRTUAL_NOTES, HELD_NOTES = "virtual", "held"
"""Folders of notes in the data folder."""

Command = Callable[..., Any]


@dataclass(frozen=True)
class Candidate:
    """A port that a board may be behind."""

    name: str
    what: str
    """As the system describes it."""
    hands: str = ""
    """Of a virtual board: the line to the hands on its site (``board.virtual.hand_line``)."""


def candidates() -> list[Candidate]:
    """USB serial ports, and the virtual boards of this user that are running.

    Built-in ports of a computer are left out: boards are on USB. They can still be given.
    """
    found = [
        Candidate(port.device, port.description or "USB serial port")
        for port in list_ports.comports()
        if port.vid is not None
    ]
    return sorted(found, key=lambda port: port.name) + virtual_boards()


def choose(given: str | None) -> str:
    """The port to use. Raises NoBoard where none, or more than one, comes into question."""
    if given:
        return given
    found = candidates()
    if not found:
        raise NoBoard(
            "no board found; plug one in, say which port with --port, or try a virtual one: "
            "rillkeeper board"
        )
    if len(found) > 1:
        listed = "".join(f"\n  {port.name}  {port.what}" for port in found)
        raise NoBoard(f"more than one port may be a board's; choose one with --port:{listed}")
    return found[0].name


def port_option(command: Command) -> Command:
    """The option ``--port`` of a command that talks to a board."""
    return click.option(
        "--port",
        envvar=VARIABLE,
        show_envvar=True,
        metavar="PORT",
        help="The board's port, or socket://HOST:PORT; the only one is found by itself.",
    )(command)


@contextmanager
def announced(path: str, hands: str = "") -> Iterator[None]:
    """Let other commands find a virtual board and its site's hands for as long as it runs."""
    with _noted(VIRTUAL_NOTES, f"{path}\n{hands}"):
        yield


@contextmanager
def held(name: str, who: str) -> Iterator[None]:
    """Let other commands know who has a port open, for as long as it is."""
    with _noted(HELD_NOTES, f"{name}\n{who}"):
        yield


@contextmanager
def _noted(folder: str, text: str) -> Iterator[None]:
    """A note under the number of this process, for as long as it is true."""
    note = data_folder() / folder / str(os.getpid())
    try:
        note.parent.mkdir(parents=True, exist_ok=True)
        note.write_text(text, encoding="utf-8")
    except OSError:  # It can still be given with --port.
        pass
    try:
        yield
    finally:
        note.unlink(missing_ok=True)


def virtual_boards() -> list[Candidate]:
    """Virtual boards that are running."""
    found = []
    for _, text in _notes(VIRTUAL_NOTES):
        path, _, hands = text.partition("\n")
        found.append(Candidate(path, "virtual board", hands))
    return found


def holder_of(name: str) -> str:
    """Who has a port open, where that is one of ours; else nothing."""
    for process, text in _notes(HELD_NOTES):
        port, _, who = text.partition("\n")
        if os.path.realpath(port) == os.path.realpath(name):
            return f"`{who}` (process {process})"
    return ""


def _notes(folder: str) -> list[tuple[str, str]]:
    """Process and text of each note; those of processes that have died are cleared away."""
    found = []
    for note in sorted((data_folder() / folder).glob("*")):
        if _is_running(note.name):
            found.append((note.name, note.read_text(encoding="utf-8")))
        else:
            note.unlink(missing_ok=True)
    return found


def _is_running(process: str) -> bool:
    if not process.isdigit() or os.name == "nt":
        return False
    try:
        os.kill(int(process), 0)
    except ProcessLookupError:
        return False
    except OSError:  # Somebody else's, so it is there.
        return True
    return True
