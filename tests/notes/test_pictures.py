"""The committed pictures are what the code draws, and they show the firmware's own pins."""

import re

import pytest

pytest.importorskip("schemdraw")

from device.pins import TABLE
from hardware_notes.drawings.pictures import PICTURES
from hardware_notes.drawings.wiring import PREFIX
from tests.notes.constants import constants
from tests.notes.sums import NOTES, blocks

CHOSEN = {line.name: line.value for line in blocks("parts.md")[0]}
ON_THE_BOARD = {"rp2": {"lamp", "usb_power"}, "esp32": {"usb_power"}}
NOT_DRAWN = ("coil_ohm",)
NOT_PINS = {"timer", "i2c", "look_ms", "nap_ms_max", "hold_ms", "write_bytes", "flow_irq"}


def texts(name: str) -> set[str]:
    """Every line of text in a committed picture."""
    svg = (NOTES / "pictures" / name).read_text(encoding="utf-8")
    return {text.strip() for text in re.findall(r"<tspan[^>]*>([^<]*)</tspan>", svg)}


@pytest.mark.parametrize("name", PICTURES)
def test_committed_picture_is_what_is_drawn(name: str) -> None:
    committed = (NOTES / "pictures" / name).read_bytes()
    assert committed == PICTURES[name](), f"{name} is out of date: run `make notes`"


@pytest.mark.parametrize("name", PICTURES)
def test_picture_is_on_a_page(name: str) -> None:
    pages = [page.read_text(encoding="utf-8") for page in NOTES.glob("*.md")]
    assert any(f"](pictures/{name})" in page for page in pages)


@pytest.mark.parametrize("board", PREFIX)
def test_wiring_shows_every_pin_of_the_table(board: str) -> None:
    shown = {
        text for text in texts(f"wiring_{board}.svg") if re.match(PREFIX[board] + r"\d", text)
    }
    wanted = set(TABLE[board]) - NOT_PINS - ON_THE_BOARD[board]
    assert shown == {f"{PREFIX[board]}{TABLE[board][name]} {name}" for name in wanted}


def _ohms(value: float) -> str:
    return f"{value / 1000:g} kΩ" if value >= 1000 else f"{value:g} Ω"


@pytest.mark.parametrize("board", PREFIX)
def test_wiring_has_the_values_reckoned_with(board: str) -> None:
    known = CHOSEN | constants()
    shown = texts(f"wiring_{board}.svg")
    resistors = [name for name in CHOSEN if name.endswith("_ohm") and name not in NOT_DRAWN]
    for name in [*resistors, "battery_top_ohm", "battery_bottom_ohm"]:
        assert _ohms(known[name]) in shown, name
    for name in ("battery_filter_nf", "pressure_filter_nf", "flow_filter_nf"):
        assert f"{known[name]:g} nF" in shown, name
    assert any(text.startswith(f"{known['fuse_a']:g} A") for text in shown)


def test_divider_has_values_corners_and_pins() -> None:
    known = CHOSEN | constants()
    shown = texts("divider.svg")
    corners = {
        line.name: line.value
        for block in blocks("sums.md")
        for line in block
        if line.name.endswith("corner_hz")
    }
    assert _ohms(known["guard_ohm"]) in shown
    for channel in ("battery", "pressure"):
        assert _ohms(known[f"{channel}_top_ohm"]) in shown
        assert _ohms(known[f"{channel}_bottom_ohm"]) in shown
        assert f"{known[f'{channel}_filter_nf']:g} nF" in shown
        corner_hz = corners[f"{channel}_corner_hz"]
        assert f"{channel.capitalize()}: corner at {corner_hz:g} Hz" in shown
        pins = f"GP{TABLE['rp2'][channel]} or GPIO{TABLE['esp32'][channel]}"
        assert pins in shown
