"""Who may talk to the desk. That a page of another origin is refused, a real browser shows too."""

import json

import pytest

from rillkeeper.desk.guard import POLICY
from tests.host.desk.serving import Open, served

POSTS = ("open", "answer", "save", "night", "watch", "do")
READS = ("", "begin", "ports", "board", "style.css", "page/desk.js", "page/desk.css")


def changed(own: list[tuple[str, str]], name: str, *values: str) -> list[tuple[str, str]]:
    """Headers with others in the place of one."""
    return [one for one in own if one[0] != name] + [(name, value) for value in values]


@pytest.mark.parametrize("name", READS)
def test_what_is_read_is_given_only_under_the_token(desk: Open, name: str) -> None:
    assert desk.get(name).status == 200
    for token in ("", "x", desk.token[:-1], desk.token + "x", desk.token.swapcase(), "%00"):
        found = desk.raw("GET", f"/{token}/{name}", headers=[("Host", desk.host)])
        assert found.status == 403, token


@pytest.mark.parametrize("name", READS)
def test_nothing_is_kept_and_nothing_comes_from_elsewhere(desk: Open, name: str) -> None:
    told = desk.get(name).headers
    assert told["content-security-policy"] == POLICY
    assert told["cache-control"] == "no-store"
    assert told["referrer-policy"] == "no-referrer", "the token is in the address"
    assert told["x-content-type-options"] == "nosniff"
    assert "access-control-allow-origin" not in told
    assert "server" not in told
    assert "'unsafe" not in told["content-security-policy"]


def test_a_refusal_has_the_same_headers(desk: Open) -> None:
    found = desk.raw("GET", "/", headers=[("Host", desk.host)])
    assert found.status == 403
    assert found.headers["content-security-policy"] == POLICY


@pytest.mark.parametrize(
    "hosts",
    [
        (),
        ("evil.example",),
        ("127.0.0.1",),
        ("127.0.0.1:1",),
        ("[::1]:{port}",),
        ("evil.example:{port}",),
        ("127.0.0.1:{port}.evil.example",),
        ("127.0.0.1:{port}", "evil.example"),
    ],
)
def test_another_host_is_refused(desk: Open, hosts: tuple[str, ...]) -> None:
    """A name of another's that leads to this machine (DNS rebinding) is no way in."""
    headers = [("Host", host.format(port=desk.port)) for host in hosts]
    assert desk.raw("GET", f"/{desk.token}/begin", headers=headers).status in (400, 403)
    name = f"localhost:{desk.port}"
    assert desk.raw("GET", f"/{desk.token}/begin", headers=[("Host", name)]).status == 200


@pytest.mark.parametrize("name", POSTS)
@pytest.mark.parametrize(
    "origins",
    [
        (),
        ("null",),
        ("https://evil.example",),
        ("http://127.0.0.1:1",),
        ("https://{host}",),
        ("http://{host}.evil.example",),
        ("http://{host}", "https://evil.example"),
    ],
)
def test_a_change_comes_from_its_own_page_only(
    desk: Open, name: str, origins: tuple[str, ...]
) -> None:
    headers = changed(desk.own, "Origin", *(one.format(host=desk.host) for one in origins))
    found = desk.raw("POST", f"/{desk.token}/{name}", b"{}", headers)
    assert found.status == 403
    assert b"another origin" in found.body


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none, cross-site", ""])
def test_what_a_browser_says_of_the_asking_site_counts(desk: Open, site: str) -> None:
    headers = [*desk.own, ("Sec-Fetch-Site", site)]
    assert desk.raw("POST", f"/{desk.token}/do", b"{}", headers).status == 403
    got = [("Host", desk.host), ("Sec-Fetch-Site", site)]
    assert desk.raw("GET", f"/{desk.token}/board", headers=got).status == 403


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_what_a_form_can_send_is_refused(desk: Open, kind: str) -> None:
    headers = changed(desk.own, "Content-Type", kind)
    assert desk.raw("POST", f"/{desk.token}/do", b"{}", headers).status == 403


@pytest.mark.parametrize("name", POSTS)
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_no_get_changes_anything(desk: Open, name: str, method: str) -> None:
    found = desk.raw(method, f"/{desk.token}/{name}?what=run&number=5", headers=desk.own[:1])
    assert found.status == 405
    assert desk.desk.watcher.look() == {}


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "BREW"])
def test_no_other_method_is_known(desk: Open, method: str) -> None:
    for name in POSTS:
        found = desk.raw(method, f"/{desk.token}/{name}", b"{}", desk.own)
        assert found.status in (400, 403, 405)


BODIES = [
    b"",
    b"{",
    b"[]",
    b"null",
    b'"id"',
    b"\xff\xfe\x00",
    b"{}",
    b"[" * 100_000,
    b'{"a":' * 5_000 + b"1" + b"}" * 5_000,
    b'{"id": NaN}',
    b'{"id": null, "name": 1, "text": [], "port": {}, "what": [], "number": "5"}',
    b'{"id": "../../x", "changes": {"a": 1}}',
    b'{"name": "x", "text": "name = 1", "changes": {"set[0].start": "1"}}',
    b'{"name": "x", "text": "\\u0000"}',
    b'{"name": "x", "text": "[water]\\nlift = \\"9999999999999999999 m\\""}',
    json.dumps({"name": "x", "text": "a" * 900_000}).encode(),
    json.dumps(
        {"name": "x", "text": "x = 1\n", "changes": {str(n): "1" for n in range(99)}}
    ).encode(),
    b'{"what": "run", "number": 5}',
    b'{"what": "run; stop", "number": 5}',
    b'{"what": "run", "number": 1e400}',
    b'{"what": "run", "number": true}',
    b'{"port": "/dev/null"}',
    b'{"port": "socket://127.0.0.1:1"}',
    b'{"port": ""}',
]
"""Fixed cases; none of them may do anything, or be a fault of the server's."""


@pytest.mark.parametrize("name", POSTS)
def test_odd_requests_are_answered_in_one_line(desk: Open, name: str) -> None:
    for body in BODIES:
        found = desk.raw("POST", f"/{desk.token}/{name}", body)
        assert found.status in (200, 400), (body[:60], found.body[:200])
        if found.status == 400:
            assert found.table["error"].strip()
        elif name == "open":
            assert found.table["mistakes"]
        else:
            assert (name, found.table) == ("watch", {}), "no board was asked for"
    assert desk.desk.watcher.look() == {}


def test_far_too_much_is_refused(desk: Open) -> None:
    found = desk.raw("POST", f"/{desk.token}/open", b" " * 2_000_000)
    assert found.status == 413


@pytest.mark.parametrize(
    "path",
    [
        "page/../../server.py",
        "page/%2e%2e/server.py",
        "page/..%2fserver.py",
        "page//etc/passwd",
        "page/%2fetc/passwd",
        "page/desk.js/..",
        "page/",
        "shown/",
        "shown/../begin",
        "shown/other",
        "%00",
        "begin/",
        "x" * 5000,
    ],
)
def test_no_other_file_is_given(desk: Open, path: str) -> None:
    found = desk.get(path)
    assert found.status in (307, 400, 404), found.body[:100]
    assert b"import" not in found.body
    assert b"root:" not in found.body


def test_a_page_of_a_board_that_is_not_there_says_so(desk: Open) -> None:
    for name in ("morning", "why", "proof"):
        found = desk.get(f"shown/{name}?board=%22%3E%3Cscript%3E")
        assert found.status == 404
        assert found.headers["content-type"].startswith("text/plain")
        assert found.body.count(b"\n") == 1


def test_two_desks_do_not_know_each_other(desk: Open, tmp_path: object) -> None:
    with served(desk.desk.archive) as other:
        assert other.token != desk.token
        assert other.port != desk.port
        assert len(other.token) >= 32
        found = other.raw("GET", f"/{desk.token}/", headers=[("Host", other.host)])
        assert found.status == 403
        assert other.ask("answer", id=desk.sheet(), changes={}).status == 400
