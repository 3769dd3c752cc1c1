"""`rillkeeper desk` as it is called: where it listens, what it prints, how it ends."""

import http.client
import importlib.util
import signal
import subprocess
import sys
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from rillkeeper.desk import server
from rillkeeper.errors import INTERRUPTED
from tests.host.board.link.virtual import ENVIRONMENT, say


def test_it_prints_its_address_on_this_machine_and_ends_by_ctrl_c(tmp_path: Path) -> None:
    words = ["-m", "rillkeeper", "desk", "--no-browser", "--archive", str(tmp_path / "a.db")]
    process = subprocess.Popen(
        [sys.executable, *words],
        env={**ENVIRONMENT, "XDG_DATA_HOME": str(tmp_path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    address = urlsplit(process.stdout.readline().strip())
    assert address.hostname == "127.0.0.1"
    assert address.port
    talk = http.client.HTTPConnection("127.0.0.1", address.port)
    talk.request("GET", address.path)
    page = talk.getresponse().read().decode()
    talk.close()
    assert "Try a site" in page
    assert "http:" not in page.replace("http://127.0.0.1", "")
    process.send_signal(signal.SIGINT)
    said, told = process.communicate()
    assert said == ""
    assert process.returncode in (0, INTERRUPTED)
    assert told.splitlines() == [
        "the desk is open, on this machine only; Ctrl-C closes it",
        "the desk is closed",
    ]
    assert not (tmp_path / "a.db").exists(), "looking changes nothing"


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the browser was asked to open; the desk itself ends as soon as it answers."""
    asked: list[str] = []
    monkeypatch.setattr(webbrowser, "open", asked.append)
    ready: Callable[[Any], None] = lambda self: self._ready()  # noqa: E731
    monkeypatch.setattr(server.Served, "serve_here", ready)
    return asked


def test_it_opens_the_browser_unless_it_is_told_not_to(opened: list[str]) -> None:
    found = say("desk")
    assert (found.exit_code, opened) == (0, [found.stdout.strip()])
    assert say("desk", "--no-browser").exit_code == 0
    assert len(opened) == 1


def test_without_the_extra_it_says_so_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    there = importlib.util.find_spec
    lacking = ("uvicorn", "tomlkit")
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name in lacking else there(name)
    )
    found = say("desk")
    assert found.exit_code == 1
    assert found.stderr.strip() == (
        "rillkeeper: the desk needs uvicorn, tomlkit; run: pip install 'rillkeeper[desk]'"
    )


def test_a_file_with_mistakes_opens_all_the_same(opened: list[str], tmp_path: Path) -> None:
    """The page shows them where they belong; only what is no text at all is refused."""
    file = tmp_path / "wrong.toml"
    file.write_text("[water]\nlift = 1\n", encoding="utf-8")
    assert say("desk", str(file)).exit_code == 0
    file.write_bytes(b"\xff\xfe")
    found = say("desk", str(file))
    assert (found.exit_code, "not UTF-8" in found.stderr) == (1, True)
    assert say("desk", str(tmp_path / "none.toml")).exit_code == 2
