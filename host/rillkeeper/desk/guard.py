"""Who may talk to the desk: its own page, opened with its own address, on this machine.

The server listens on the loopback address, which keeps other machines out, but not a page of
another origin in a browser of this one. Such a page does not know the token in the address; and
what its browser sends of its own accord (Host, Origin, Sec-Fetch-Site) gives it away. A GET
changes nothing, so that no link and no picture can drive a pump.
"""

import secrets
from collections.abc import Iterable

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

TOKEN_BYTES = 24
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""Of the desk itself: nothing from elsewhere, nothing inline, in no frame."""
SHOWN_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
"""Of a page that is made elsewhere in the project, which holds its style sheet: no script."""
_HEADERS = {
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
}


def new_token() -> str:
    """What only who was given the address knows."""
    return secrets.token_urlsafe(TOKEN_BYTES)


class Guard:
    """Stands before the desk: refuses what its own page would not send."""

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self._app = app
        self._token = token
        self._hosts = (f"127.0.0.1:{port}", f"localhost:{port}")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":  # No other kind is served; a lifespan is not begun.
            return
        refusal = self._refusal(scope)
        app = self._app if refusal is None else PlainTextResponse(refusal + "\n", status_code=403)

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = list(message.get("headers", ()))
                told = {name.lower() for name, _ in headers}
                more = {**_HEADERS, "content-security-policy": POLICY}
                headers += [
                    (name.encode(), value.encode())
                    for name, value in more.items()
                    if name.encode() not in told
                ]
                message = {**message, "headers": headers}
            await send(message)

        await app(scope, receive, send_guarded)

    def _refusal(self, scope: Scope) -> str | None:
        """Why a request is refused; None where it is the page's own."""
        headers = list(scope["headers"])
        if not _only(headers, b"host", self._hosts):
            return "not the desk's own address"
        origins = [f"http://{host}" for host in self._hosts]
        changes = scope["method"] not in ("GET", "HEAD")
        if not _only(headers, b"origin", origins, missing=not changes):
            return "from a page of another origin"
        if not _only(headers, b"sec-fetch-site", ("same-origin", "none"), missing=True):
            return "from a page of another site"
        if changes and not _only(headers, b"content-type", ("application/json",)):
            return "not JSON"
        first = scope["path"].split("/")[1:2]
        given = first[0] if first else ""
        if not secrets.compare_digest(given.encode("utf-8", "replace"), self._token.encode()):
            return "the address is not whole; open the one that `rillkeeper desk` has printed"
        return None


def _only(
    headers: list[tuple[bytes, bytes]], name: bytes, allowed: Iterable[str], missing: bool = False
) -> bool:
    """Whether a header is there once, with a value that is allowed; or whether it may miss."""
    found = [value.decode("latin-1") for key, value in headers if key.lower() == name]
    return found[0] in allowed if len(found) == 1 else missing and not found
