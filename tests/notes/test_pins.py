"""Pages and boot.py have the pins of the firmware's own table."""

import re
from pathlib import Path

import pytest

from device.pins import TABLE
from tests.notes.sums import NOTES

BOARDS = ("rp2", "esp32")
RELAYS = ("relay", "second_relay")
NOT_PINS = {"timer", "i2c", "look_ms", "nap_ms_max", "hold_ms", "write_bytes", "flow_irq"}
ROWS = re.findall(
    r"^\| (\w+) \| (\d+|none) \| (\d+|none) \|",
    (NOTES / "wiring.md").read_text(encoding="utf-8"),
    re.MULTILINE,
)


def test_page_has_every_pin() -> None:
    assert {name for name, _, _ in ROWS} == set(TABLE["rp2"]) - NOT_PINS


@pytest.mark.parametrize("board", BOARDS)
def test_page_has_the_firmwares_pins(board: str) -> None:
    for row in ROWS:
        shown = row[1 + BOARDS.index(board)]
        pin = TABLE[board][row[0]]
        assert shown == (str(pin) if pin >= 0 else "none"), row


@pytest.mark.parametrize("board", BOARDS)
def test_no_pin_is_used_twice(board: str) -> None:
    used = [TABLE[board][name] for name, _, _ in ROWS if TABLE[board][name] >= 0]
    assert len(used) == len(set(used))


@pytest.mark.parametrize("board", BOARDS)
def test_boot_opens_the_same_relays(board: str) -> None:
    boot = (Path(__file__).parents[2] / "firmware/boot.py").read_text(encoding="utf-8")
    numbers = re.findall(r"machine\.Pin\((\d+), machine\.Pin\.OUT, value=0\)", boot)
    assert [int(number) for number in numbers] == [TABLE[board][name] for name in RELAYS]
