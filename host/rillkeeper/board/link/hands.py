"""The hands on the site of a virtual board that runs in another window.

One question a connection to its local socket (``board.virtual.hand_line``), a line of JSON each
way.
"""

import json
import socket
from dataclasses import dataclass
from typing import Any

from rillkeeper.board.link.ports import Candidate, virtual_boards
from rillkeeper.errors import NoBoard, RillkeeperError

LINE_BYTES = 65536
PATIENCE_S = 10.0
"""A board that hurries through a night at full speed comes by well within this."""


class Refused(RillkeeperError):
    """The site has not what was to be handled, or not so."""

    def __init__(self, text: str, status: int) -> None:
        super().__init__(text)
        self.exit_code = status


def ask(path: str, **question: Any) -> dict[str, Any]:
    """Ask the hands of a running board: ``do`` a pair of words, ``list`` or ``look``.

    Raises NoBoard where it does not answer, Refused where it says no.
    """
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as calling:
            calling.settimeout(PATIENCE_S)
            calling.connect(path)
            calling.sendall(json.dumps(question).encode() + b"\n")
            answer: dict[str, Any] = json.loads(line_of(calling))
    except (OSError, ValueError):
        raise NoBoard("the virtual board does not answer; is it stopped?") from None
    if "refusal" in answer:
        raise Refused(answer["refusal"], answer["status"])
    return answer


@dataclass(frozen=True)
class Desk:
    """What a person at a desk has of a board's site; nothing of a real board's."""

    hand: str = ""
    """The command that handles it."""
    there: tuple[str, ...] = ()
    """What can be handled, by name, and what else is fitted there."""
    speed: float = 1.0
    """Simulated seconds in one second."""


def desk_of(port: str) -> Desk:
    """The desk of the board behind a port."""
    boards = with_hands()
    line = next((one.hands for one in boards if one.name == port), "")
    if not line:
        return Desk()
    answer = ask(line, list=True)
    which = f" --port {port}" if len(boards) > 1 else ""
    parts = ["pressure-switch"] if answer["pressure_switch"] else []
    there = (*(row["hand"] for row in answer["list"]), *parts)
    return Desk(f"rillkeeper hand{which}", there, answer["speed"])


def with_hands() -> list[Candidate]:
    """Virtual boards that are running and whose site can be handled."""
    return [one for one in virtual_boards() if one.hands]


def line_of(end: socket.socket) -> bytes:
    """A whole line."""
    data = b""
    while not data.endswith(b"\n") and len(data) < LINE_BYTES:
        more = end.recv(LINE_BYTES)
        if not more:
            break
        data += more
    return data
