"""What the board loads only when it is wanted, and lets go again; and what if it cannot."""

import importlib
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from littlefs import LittleFS

from device import seldom, store
from device.files import Files
from keeper import Settings
from tests.device.desk import Desk
from tests.device.test_board import change_flash
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

LOADED = ("keeper.settings", "keeper.plausible", "device.help", "device.say")
FULL = "there is not enough memory; restart"
GONE = "a file is missing; flash again"


class Unloadable:
    """A finder that fails instead of giving one module."""

    def __init__(self, module: str, error: type[Exception]) -> None:
        self.module = module
        self.error = error

    def find_spec(self, name: str, path: Any, target: ModuleType | None = None) -> None:
        if name == self.module:
            raise self.error


@pytest.fixture(autouse=True)
def let_go(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As on a board that was given bytecode; then this process has its own modules again.

    A second copy of one would be another module to all tests that come after.
    """
    own = {name: importlib.import_module(name) for name in seldom._MODULES}
    monkeypatch.setattr(seldom, "FROM_SOURCES", False)
    seldom.let_go()
    yield
    seldom.let_go()
    for name, module in own.items():
        package, _, tail = name.partition(".")
        sys.modules[name] = module
        setattr(sys.modules[package], tail, module)


def test_nothing_stays() -> None:
    assert seldom.settings_of(BOARD).values() == Settings(BOARD).values()
    seldom.let_go()
    assert seldom.problem_of(BOARD) == ""
    assert seldom.problem_of({**BOARD, "starts_max": 0}).startswith("starts_max: 0 is outside")
    assert len(seldom.told(None)) > 20
    assert not [name for name in LOADED if name in sys.modules]
    assert not [name for name in LOADED if hasattr(sys.modules[name[:6]], name[7:])]


@pytest.mark.parametrize(("error", "words"), [(MemoryError, FULL), (ImportError, GONE)])
@pytest.mark.parametrize("module", ["keeper.settings", "keeper.plausible"])
def test_settings_that_cannot_be_checked_are_not_used(
    monkeypatch: pytest.MonkeyPatch, module: str, error: type[Exception], words: str
) -> None:
    monkeypatch.setattr(sys, "meta_path", [Unloadable(module, error), *sys.meta_path])
    with pytest.raises(seldom.SeldomError, match=words):
        seldom.settings_of(BOARD)
    assert seldom.problem_of(BOARD) == words
    assert seldom.setting_keys() == ()
    assert not [name for name in LOADED if name in sys.modules], "it is tried anew"


def test_a_help_that_cannot_be_loaded_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "meta_path", [Unloadable("device.help", MemoryError), *sys.meta_path])
    with pytest.raises(seldom.SeldomError, match=FULL):
        seldom.told(None)


@pytest.mark.interpreter
def test_a_board_without_room_for_the_checks_does_not_pump(
    need: Callable[[str], Path], tmp_path: Path
) -> None:
    """It comes up, says why, and opens its relay to nobody's wish."""
    firmware = tmp_path / "firmware"
    shutil.copytree(rigs.FIRMWARE, firmware, ignore=shutil.ignore_patterns("__pycache__"))
    (firmware / "keeper/settings.py").write_text("raise MemoryError\n")
    with Desk(need("micropython"), tmp_path, BOARD, firmware=firmware) as desk:
        trouble = desk.status()["trouble"]
        assert trouble == ("settings cannot be checked: " + FULL).replace(" ", "_")
        assert desk.make("run 3").startswith("no the board does not pump")
        assert not any(desk.ticks(60))
        assert desk.make("set starts_max 5") == "no such setting"


@pytest.mark.interpreter
def test_a_memory_that_cannot_be_read_for_want_of_room_locks_out(
    need: Callable[[str], Path], tmp_path: Path
) -> None:
    """It may have said "lockout"."""
    firmware = tmp_path / "firmware"
    shutil.copytree(rigs.FIRMWARE, firmware, ignore=shutil.ignore_patterns("__pycache__"))
    module = firmware / "keeper/memory.py"
    text = module.read_text(encoding="utf-8")
    module.write_text(text.replace("kept = _words(text)", "raise MemoryError"), encoding="utf-8")
    assert module.read_text(encoding="utf-8") != text
    assert store.TwoSlots(Files(str(tmp_path) + "/"), "memory").save("state idle")

    def put(flash: LittleFS) -> None:
        with flash.open("memory.a", "wb") as file:
            file.write((tmp_path / "memory.a").read_bytes())

    with Desk(need("micropython"), tmp_path, BOARD, firmware=firmware) as desk:
        change_flash(desk.board.image, put)
        assert desk.status()["state"] == "lockout"
