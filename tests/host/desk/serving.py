"""The desk on a socket of this machine, in a thread of the test, and questions to it."""

import http.client
import json
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rillkeeper.desk.guard import new_token
from rillkeeper.desk.server import Desk, Served
from rillkeeper.site.file import DEMO
from tests.patience import CEILING_S

DEMO_TEXT = DEMO.read_text(encoding="utf-8")


@dataclass(frozen=True)
class Answered:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def table(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.body)
        return found


@dataclass
class Open:
    """A desk that is open."""

    desk: Desk
    port: int
    token: str

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    @property
    def address(self) -> str:
        return f"http://{self.host}/{self.token}/"

    def raw(
        self,
        method: str,
        path: str,
        body: bytes | None = None,
        headers: list[tuple[str, str]] | None = None,
    ) -> Answered:
        """A request as it is given; only its length is added."""
        talk = http.client.HTTPConnection("127.0.0.1", self.port, timeout=CEILING_S)
        try:
            talk.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in headers if headers is not None else self.own:
                talk.putheader(name, value)
            if body is not None:
                talk.putheader("Content-Length", str(len(body)))
            talk.endheaders(body)
            came = talk.getresponse()
            told = {name.lower(): value for name, value in came.getheaders()}
            return Answered(came.status, told, came.read())
        finally:
            talk.close()

    @property
    def own(self) -> list[tuple[str, str]]:
        """What the page's own browser sends."""
        return [
            ("Host", self.host),
            ("Origin", f"http://{self.host}"),
            ("Content-Type", "application/json"),
        ]

    def get(self, name: str) -> Answered:
        return self.raw("GET", f"/{self.token}/{name}", headers=[("Host", self.host)])

    def ask(self, address: str, /, **what: object) -> Answered:
        return self.raw("POST", f"/{self.token}/{address}", json.dumps(what).encode())

    def sheet(self, text: str = DEMO_TEXT) -> str:
        """Opens a file; returns its number."""
        found: str = self.ask("open", name="plot.toml", text=text).table["id"]
        return found


@contextmanager
def served(archive: Path, text: str = DEMO_TEXT) -> Iterator[Open]:
    """A desk that is open for as long as the block lasts."""
    desk = Desk(("plot.toml", text), archive)
    ready = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as door:
        token = new_token()
        server = Served(desk, door, token, ready.set)
        thread = threading.Thread(target=server.serve_here)
        thread.start()
        try:
            assert ready.wait(CEILING_S)
            yield Open(desk, door.getsockname()[1], token)
        finally:
            server.should_exit = True
            thread.join(CEILING_S)
