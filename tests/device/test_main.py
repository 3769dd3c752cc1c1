"""main.py before its loop: with a file that is not as its list says the relay cannot close."""

import os
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import device
from device import manifest
from device.files import Files
from tests.interpreters import rigs
from virtual import chips, listed

MAIN = rigs.FIRMWARE / "main.py"


@pytest.mark.parametrize("damaged", [False, True])
def test_a_damaged_file_keeps_the_relay_open_whatever_the_loop_wants(
    damaged: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here the loop is one that closes the relay at once."""
    files = Files(str(tmp_path) + os.sep)
    (tmp_path / "boot.py").write_bytes(b"pass\n")
    (tmp_path / manifest.PATH).write_bytes(listed.text_of(files, ["boot.py"]).encode())
    if damaged:
        (tmp_path / "boot.py").write_bytes(b"pasS\n")
    levels = []
    told = []

    def run(machine: Any, time: Any, row: Any, relay: Any, trouble: str) -> None:
        relay.drive(1, time.ticks_ms())
        levels.append(chips.LINK.relay)
        told.append(trouble)

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setitem(sys.modules, "machine", chips)
    monkeypatch.setitem(sys.modules, "time", chips)
    monkeypatch.setitem(sys.modules, "device.board", SimpleNamespace(run=run))
    monkeypatch.setattr(device, "board", SimpleNamespace(run=run), raising=False)
    monkeypatch.setattr(chips.LINK, "timers", [])
    exec(compile(MAIN.read_text(encoding="utf-8"), str(MAIN), "exec"), {"__name__": "__main__"})
    assert levels == [0 if damaged else 1]
    assert told == ["boot.py is damaged or missing" if damaged else ""], "the loop says it on"
    assert chips.LINK.relay == 0, "main.py leaves it open"
