"""A page of another origin in a real browser: it cannot drive the pump."""

from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread

import pytest

from tests.host.desk.serving import Open
from tests.host.desk.window import Opener

pytestmark = pytest.mark.browser

HOSTILE = """<!doctype html><title>Hostile</title><body><script>
const at = %r, done = [];
const body = JSON.stringify({what: "run", number: 60});
const tries = [
  () => fetch(at + "do", {method: "POST", mode: "no-cors", body}),
  () => fetch(at + "do", {method: "POST", mode: "no-cors", body,
                          headers: {"content-type": "text/plain"}}),
  () => fetch(at + "do", {method: "POST", body, headers: {"content-type": "application/json"}}),
  () => fetch(at + "do?what=run&number=60", {mode: "no-cors"}),
  () => fetch(at + "begin").then(one => one.text()).then(text => { throw "read: " + text; }),
  () => navigator.sendBeacon(at + "do", new Blob([body], {type: "text/plain"})),
  () => { const one = new Image(); one.src = at + "do?what=run&number=60"; },
  () => { const one = document.createElement("iframe"); one.src = at; document.body.append(one); },
  () => { const one = document.createElement("form"); one.method = "post"; one.action = at + "do";
          one.enctype = "text/plain"; one.target = "frame";
          const field = document.createElement("input"); field.name = body; one.append(field);
          const frame = document.createElement("iframe"); frame.name = "frame";
          document.body.append(one, frame); one.submit(); },
];
(async () => {
  for (const one of tries) {
    try { done.push(String(await one())); } catch (error) { done.push(String(error)); }
  }
  window.done = done;
})();
</script>"""


def test_a_page_of_another_origin_cannot_drive_the_pump(
    show: Opener, desk: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even one that somebody has told the whole address with its token."""
    asked: list[tuple[str, int]] = []
    monkeypatch.setattr(desk.desk.watcher, "do", lambda what, number: asked.append((what, number)))
    came: list[str] = []
    refused: list[str] = []

    class Server(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            came.append(self.path)
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write((HOSTILE % desk.address).encode())

        def log_message(self, *_: object) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Server) as server:
        thread = Thread(target=server.serve_forever, daemon=True)
        thread.start()
        with show(address=f"http://localhost:{server.server_port}/") as shown:
            shown.page.on(
                "response",
                lambda one: refused.append(one.url) if one.status == 403 else None,
            )
            shown.page.wait_for_function("() => window.done")
            shown.page.wait_for_load_state("networkidle")
            done = shown.page.evaluate("() => window.done")
            frames = [one.url for one in shown.page.frames if one.url.startswith(desk.address)]
        server.shutdown()
        thread.join()
    assert came, "the hostile page was opened"
    assert len(done) == 9
    assert not [one for one in done if one.startswith("read:")]
    assert asked == []
    assert frames == [] or refused, "what was framed was a refusal"
    assert desk.ask("do", what="run", number=60).status == 200
    assert asked == [("run", 60)], "its own page can"
