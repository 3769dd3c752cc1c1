"""The desk's server: what the page asks for, answered by the other rooms.

`GET` reads, `POST` takes JSON; what goes wrong comes back as one sentence under ``error``.
"""

import json
from collections import OrderedDict
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from socket import IPPROTO_TCP, TCP_NODELAY, socket
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from rillkeeper.board.link.ports import candidates
from rillkeeper.desk.answer import Worked, document, work_out
from rillkeeper.desk.guard import SHOWN_POLICY, Guard
from rillkeeper.desk.handles import GROUPS
from rillkeeper.desk.night import fault_of, faults, try_night
from rillkeeper.desk.pages import PAGES
from rillkeeper.desk.sheet import (
    Changes,
    Sheet,
    changes_of,
    mistake_document,
    opened,
    saved,
)
from rillkeeper.desk.watch import Watcher
from rillkeeper.errors import RillkeeperError, SiteError
from rillkeeper.pages import template
from rillkeeper.site.file import LARGEST_FILE

BODY_MAX = LARGEST_FILE + 100_000
"""Bytes of a request: a site file and its changes."""
SHEETS_MAX, ANSWERS_MAX = 20, 400
NAME_MAX = 100
PAGE = Path(__file__).parent / "page"
STYLE = Path(template.__file__).parent / "templates" / "style.css"
_JSON = dict[str, Any]


class Gone(RillkeeperError):
    """The desk was started anew since the page was opened."""


class Desk:
    """What lies on the desk: files that were opened, answers, and the board that is watched."""

    def __init__(self, first: tuple[str, str], archive: Path) -> None:
        self.first = first
        self.archive = archive
        self.watcher = Watcher(archive)
        self._sheets: OrderedDict[str, Sheet] = OrderedDict()
        self.worked = lru_cache(ANSWERS_MAX)(self._worked)

    def open(self, given: _JSON) -> _JSON:
        """A file: its handles, or all its mistakes."""
        name, text = _text(given, "name", NAME_MAX), _text(given, "text", LARGEST_FILE)
        corrections = dict(changes_of(given.get("changes", {})))
        sheet, mistakes = opened(name, text, corrections)
        if sheet is None:
            told = [mistake_document(one, text) for one in mistakes]
            return {"name": name, "text": text, "mistakes": told}
        self._sheets[sheet.id] = sheet
        while len(self._sheets) > SHEETS_MAX:
            self._sheets.popitem(last=False)
        return {**sheet.document(), "mistakes": []}

    def answer(self, given: _JSON) -> _JSON:
        """A site with its changes, quick or whole."""
        sheet, changes = self._sheet(given), changes_of(given.get("changes", {}))
        before = changes_of(given.get("before", {}))
        changed = sheet.changed(changes)
        if changed.site is None:
            return {"mistakes": [mistake_document(one) for one in changed.mistakes]}
        worked = self.worked(sheet.id, changes, bool(given.get("whole")))
        start = sheet.changed(before).site or sheet.site
        return {"mistakes": [], **document(worked, start)}

    def save(self, given: _JSON) -> _JSON:
        """The file with its changes, as text."""
        sheet, changes = self._sheet(given), changes_of(given.get("changes", {}))
        return {"name": sheet.name, "text": saved(sheet, changes)}

    def night(self, given: _JSON) -> _JSON:
        """Tonight, with a fault of the catalogue."""
        sheet, changes = self._sheet(given), changes_of(given.get("changes", {}))
        fault = fault_of(given.get("fault"), given.get("minutes"), given.get("severity"))
        changed = sheet.changed(changes)
        if changed.site is None:
            raise SiteError(sheet.name, list(changed.mistakes))
        return try_night(changed.site, fault)

    def watch(self, given: _JSON) -> _JSON:
        """Watch the board behind a port of the list, or none any more."""
        port = given.get("port")
        if port is None:
            self.watcher.close()
            return {}
        if port not in [one.name for one in candidates()]:
            raise RillkeeperError("there is no such port any more; choose another")
        return self.watcher.open(port)

    def do(self, given: _JSON) -> _JSON:
        """Run, stop, hold or clear."""
        number = given.get("number", 0)
        if not isinstance(number, int) or isinstance(number, bool):
            raise RillkeeperError("number: not a whole number")
        return {"said": self.watcher.do(_text(given, "what", NAME_MAX), number)}

    def _sheet(self, given: _JSON) -> Sheet:
        found = self._sheets.get(_text(given, "id", NAME_MAX))
        if found is None:
            raise Gone("the desk has been closed since; load the page again")
        return found

    def _worked(self, sheet_id: str, changes: Changes, whole: bool) -> Worked:
        changed = self._sheets[sheet_id].changed(changes)
        assert changed.site is not None
        return work_out(changed.site, changed.charge, whole)


def app_of(desk: Desk) -> Starlette:
    """All addresses below the token."""

    def page(request: Request) -> Response:
        return HTMLResponse(template.render("desk", PAGE, groups=GROUPS, faults=faults()))

    def begin(request: Request) -> Response:
        name, text = desk.first
        return JSONResponse({"name": name, "text": text})

    def ports(request: Request) -> Response:
        return JSONResponse([{"name": one.name, "what": one.what} for one in candidates()])

    def board(request: Request) -> Response:
        return JSONResponse(desk.watcher.look())

    def shown_as(name: str) -> Callable[[Request], Response]:
        def shown(request: Request) -> Response:
            board = request.query_params.get("board") or None
            try:
                html = PAGES[name](desk.archive, board)
            except RillkeeperError as error:
                return PlainTextResponse(f"{error}\n", status_code=404)
            return HTMLResponse(html, headers={"content-security-policy": SHOWN_POLICY})

        return shown

    return Starlette(
        routes=[
            Route("/", page),
            Route("/style.css", lambda _: Response(STYLE.read_bytes(), media_type="text/css")),
            Route("/begin", begin),
            Route("/ports", ports),
            Route("/board", board),
            *(Route(f"/shown/{name}", shown_as(name)) for name in PAGES),
            *(
                Route(f"/{name}", _posted(work), methods=["POST"])
                for name, work in {
                    "open": desk.open,
                    "answer": desk.answer,
                    "save": desk.save,
                    "night": desk.night,
                    "watch": desk.watch,
                    "do": desk.do,
                }.items()
            ),
            Mount("/page", StaticFiles(directory=PAGE)),
        ],
    )


def _posted(work: Callable[[_JSON], _JSON]) -> Callable[[Request], Any]:
    """What takes a table as JSON, and answers with another, or with what is wrong."""

    async def take(request: Request) -> Response:
        body = b""
        async for part in request.stream():
            body += part
            if len(body) > BODY_MAX:
                return JSONResponse({"error": "far too much"}, status_code=413)
        try:
            given = json.loads(body)
            if not isinstance(given, dict):
                raise ValueError
        except (ValueError, RecursionError):
            return JSONResponse({"error": "not a table as JSON"}, status_code=400)
        try:
            return JSONResponse(await run_in_threadpool(work, given))
        except SiteError as error:
            told = [mistake_document(one) for one in error.mistakes]
            return JSONResponse({"error": str(error), "mistakes": told}, status_code=400)
        except RillkeeperError as error:
            return JSONResponse({"error": str(error)}, status_code=400)
        except Exception as error:
            what = f"{type(error).__name__}: {error}; a fault in rillkeeper itself"
            return JSONResponse({"error": what}, status_code=500)

    return take


def _text(given: _JSON, key: str, most: int) -> str:
    """A text of a request. Raises RillkeeperError for anything else."""
    found = given.get(key)
    if not isinstance(found, str) or len(found) > most:
        raise RillkeeperError(f"{key}: not a text, or far too long")
    return found


class Served(uvicorn.Server):
    """The desk on a socket that is bound; `run` serves until `should_exit` or Ctrl-C."""

    def __init__(
        self, desk: Desk, door: socket, token: str, ready: Callable[[], None] = lambda: None
    ) -> None:
        """``ready`` is called when it answers."""
        port = door.getsockname()[1]
        super().__init__(
            uvicorn.Config(
                Guard(Mount(f"/{token}", app_of(desk)), token, port),
                log_level="critical",
                access_log=False,
                lifespan="off",
                server_header=False,
                timeout_graceful_shutdown=1,
            )
        )
        # What is accepted takes it over: without it the second part of an answer waits for 40 ms
        # (Nagle, RFC 896, beside a delayed acknowledgement). asyncio sets it only on sockets
        # that were made with their protocol named.
        door.setsockopt(IPPROTO_TCP, TCP_NODELAY, 1)
        self._door = door
        self._desk = desk
        self._ready = ready

    async def startup(self, sockets: list[socket] | None = None) -> None:
        """Begin to answer."""
        await super().startup(sockets)
        self._ready()

    def serve_here(self) -> None:
        """Serve until it ends, and give the board's port back."""
        try:
            self.run(sockets=[self._door])
        finally:
            self._desk.watcher.close()
