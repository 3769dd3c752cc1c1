"""The line over which a second command reaches the hands of a virtual board: a local socket.

The other end is ``board.link.hands``. The socket lies in a folder that only this user can enter;
its path stands in the note by which the board is found.
"""

import json
import socket
import tempfile
from pathlib import Path
from types import TracebackType
from typing import Any

from rillkeeper.board.link.hands import line_of
from rillkeeper.board.virtual.site_hands import SiteHands
from rillkeeper.errors import RillkeeperError

SAYS_S = 1.0
"""Who has called says at once what is wanted."""


class HandLine:
    """The board's end; a context manager."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="rillkeeper-")
        self.path = Path(self._folder.name) / "hands"
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
        self._folder.cleanup()

    def poll(self, hands: SiteHands) -> None:
        """Answer one who has called, if anybody has."""
        try:
            caller, _ = self._listening.accept()
        except BlockingIOError:
            return
        with caller:
            caller.settimeout(SAYS_S)
            try:
                question = json.loads(line_of(caller))
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
            answer["pressure_switch"] = hands.site.pump.pressure_switch
        if "look" in question:
            answer["look"] = hands.look()
    except RillkeeperError as refusal:
        answer["refusal"], answer["status"] = str(refusal), refusal.exit_code
    return answer
