"""The line over which a second command reaches the hands of a virtual board: a local socket.

One question a connection, a line of JSON each way. The socket lies in a folder that only this
user can enter; its path stands in the note by which the board is found.
"""

import json
import socket
from pathlib import Path
from types import TracebackType
from typing import Any

from rillkeeper.board.virtual.site_hands import SiteHands
from rillkeeper.errors import NoBoard, RillkeeperError

LINE_BYTES = 65536
PATIENCE_S = 10.0
"""A board that hurries through a night at full speed comes by well within this."""
SAYS_S = 1.0
"""Who has called says at once what is wanted."""


class HandLine:
    """The board's end; a context manager."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "hands"
        self._listening = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._listening.bind(str(self.path))
        self._listening.listen()
        self._listening.setblocking(False)

    def __enter__(self) -> "HandLine":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._listening.close()
        self.path.unlink(missing_ok=True)

    def poll(self, hands: SiteHands) -> None:
        """Answer one who has called, if anybody has."""
        try:
            caller, _ = self._listening.accept()
        except BlockingIOError:
            return
        with caller:
            caller.settimeout(SAYS_S)
            try:
                question = json.loads(_line_of(caller))
                caller.sendall(json.dumps(_answer(hands, question)).encode() + b"\n")
            except (OSError, ValueError):  # It has gone again, or was none of ours.
                return


def _answer(hands: SiteHands, question: dict[str, Any]) -> dict[str, Any]:
    answer: dict[str, Any] = {"speed": hands.speed}
    try:
        if "do" in question:
            answer["said"] = hands.do(*question["do"])
        if "list" in question:
            answer["list"] = hands.listed()
        if "look" in question:
            answer["look"] = hands.look()
    except RillkeeperError as refusal:
        answer["refusal"], answer["status"] = str(refusal), refusal.exit_code
    return answer


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
            answer: dict[str, Any] = json.loads(_line_of(calling))
    except (OSError, ValueError):
        raise NoBoard("the virtual board does not answer; is it stopped?") from None
    if "refusal" in answer:
        raise Refused(answer["refusal"], answer["status"])
    return answer


def _line_of(end: socket.socket) -> bytes:
    """A whole line."""
    data = b""
    while not data.endswith(b"\n") and len(data) < LINE_BYTES:
        more = end.recv(LINE_BYTES)
        if not more:
            break
        data += more
    return data
