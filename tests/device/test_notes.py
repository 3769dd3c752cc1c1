"""The notes say what the firmware does: the talk on the page is held with a board."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from device.help import HELP
from keeper import VERSION, crc
from rillsim.boards.virtualboard import firmware_files
from tests.device.desk import Desk
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

PAGE = (rigs.ROOT / "hardware_notes/serial.md").read_text(encoding="utf-8")
TALKS = re.findall(r"```\n(> .*?)```", PAGE, flags=re.DOTALL)


def exchanges() -> list[tuple[str, list[str]]]:
    """What is typed on the page, and the lines that answer it."""
    found: list[tuple[str, list[str]]] = []
    for line in "".join(TALKS).splitlines():
        if line.startswith("> "):
            found.append((line[2:], []))
        else:
            found[-1][1].append(line)
    return found


def plain(line: str) -> str:
    """The line without its mark, and without the second at which it was written."""
    return re.sub(r"\d\d:\d\d:\d\d", "hh:mm:ss", crc.unsealed(line) or line)


@pytest.mark.interpreter
def test_the_talk_on_the_page(need: Callable[[str], Path], tmp_path: Path) -> None:
    """Word by word, but for the number, which is fresh at every start, and its mark."""
    fresh = ""
    with Desk(need("micropython"), tmp_path, BOARD) as desk:
        desk.ticks(30)
        for typed, wanted in exchanges():
            number = re.search(r"#\d+ ~....", typed)
            sent = typed.replace(number[0], fresh) if number else typed
            got = [plain(line) for line in desk.say(sent)]
            wanted = [plain(line) for line in wanted]
            if typed.startswith("seal"):
                fresh = crc.sealed(got[0])[got[0].index("#") :]
                got[0] = got[0].partition("#")[0]
                wanted[0] = wanted[0].partition("#")[0]
            assert got == wanted, typed


def test_the_marks_on_the_page_fit() -> None:
    lines = [line.removeprefix("> ") for talk in TALKS for line in talk.splitlines()]
    marked = [line for line in lines if " ~" in line]
    assert len(marked) > 10
    assert [line for line in marked if crc.unsealed(line) is None] == []


def test_the_page_tells_of_every_command() -> None:
    for line in HELP:
        word = line.split(" ")[0]
        if word not in ("Changes,", "restart", "clear", "hold", "battery", "stop", "fresh"):
            assert f"`{word}" in PAGE or f"> {word}" in PAGE, word


def test_the_package_lists_every_file() -> None:
    """mip puts them under /lib; boot.py and main.py go to the root by themselves."""
    package = json.loads((rigs.FIRMWARE / "package.json").read_text(encoding="utf-8"))
    files = firmware_files(rigs.FIRMWARE)
    wanted = [
        [path.removeprefix("lib/"), str(source.relative_to(rigs.FIRMWARE))]
        for path, source in files.items()
        if path.startswith("lib/")
    ]
    assert package["urls"] == wanted
    assert package["version"] == VERSION
