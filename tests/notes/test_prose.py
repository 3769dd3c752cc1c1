"""What the sentences say in numbers is what the sums beside them come to."""

import re

import pytest

from rillkeeper.board.flash.board_files import PYTHON_MIN
from tests.notes.constants import constants
from tests.notes.sums import NOTES, PAGES, blocks

# Page, what a sentence says, and the value that it says it of.
SAID = (
    ("wiring.md", "{:g} A over 10 mΩ", "pump_a"),
    ("wiring.md", "wire are {:g} mV", "common_ground_mv"),
    ("relay.md", "needs a gain of {:g}, or", "gain_forced"),
    ("relay.md", "or {:g} where the pin sags", "gain_most"),
    ("relay.md", "Up to {:g} µA of leak", "leak_held_ua"),
    ("relay.md", "still has {:g} mV more", "pull_in_room_mv"),
    ("relay.md", "contact for {:g} A at 14 V DC", "contact_a"),
    ("relay.md", "At {:g} times its rating", "stall_over_fuse"),
    ("relay.md", "drives {:g} mA at most", "clamp_ma"),
    ("relay.md", "the hold of {:g} ms", "weld_hold_ms"),
    ("sensing.md", "One step is {:g} mV of battery", "battery_step_mv"),
    ("sensing.md", "are {:g} mV at 12.65 V", "battery_resistors_mv"),
    ("sensing.md", "carry {:g} mA at most", "pin_ma"),
    ("sensing.md", "they leak some {:g} nA", "clamp_leak_na"),
    ("sensing.md", "One step is {:g} mV at the transducer", "pressure_step_mv"),
    ("sensing.md", "transducer, {:g} Pa", "pressure_step_pa"),
    ("sensing.md", "drives {:g} mA into", "lead_clamp_ma"),
    ("sensing.md", "or more than {:g} a second", "pulses_max_hz"),
    ("sensing.md", "a spike of less than {:g} µs is no pulse", "falls_us"),
    ("sensing.md", "With {:g} nF a spike", "flow_filter_nf"),
    ("wiring.md", "emitter flow some {:g} mA", "ground_off_base_ma"),
    ("wiring.md", "{:g} mA, where a relay lets go", "ground_off_lead_ma"),
    ("wiring.md", "a tenth of its coil's {:g} mA", "coil_ma"),
    ("sensing.md", "wanted share by {:g} %", "pressure_off_percent"),
    ("power.md", "next rating above {:g} A", "fuse_wanted_a"),
    ("power.md", "is {:g} A, no more than the", "fuse_a"),
    ("power.md", "no more than the {:g} A of the wire", "wire_ampacity_a"),
    ("power.md", "clean clamps: {:g} A", "short_behind_fuse_a"),
    ("power.md", "breaks {:g} A (ISO", "blade_breaks_a"),
    ("power.md", "any fuse, flow {:g} A", "short_at_posts_a"),
    ("power.md", "more than {:g} A into a short", "board_short_a"),
    ("power.md", "costs {:g} seconds of pumping a day", "idle_pump_s_day"),
    ("power.md", "costs {:g} mAh a day", "awake_mah_day"),
    ("battery.md", "cut-out there are but 531 mV, {:g} steps", "cutout_to_charged_steps"),
    ("water.md", "stops at {:.2f} bar", "dead_head_bar"),
    ("water.md", "rating of {:.2f} bar", "rating_bar"),
    ("commissioning.md", "transducer is {:g} Pa", "head_pa"),
    ("commissioning.md", "Pa, {:g} steps", "head_steps"),
    ("parts.md", "blade fuse {:g} A, 32 V DC", "fuse_a"),
    ("parts.md", "for its current ({:g} A DC here)", "pump_most_a"),
)
VALUES = {line.name: line.value for page in PAGES for block in blocks(page) for line in block}


@pytest.mark.parametrize(("page", "sentence", "name"), SAID)
def test_sentence(page: str, sentence: str, name: str) -> None:
    text = " ".join((NOTES / page).read_text(encoding="utf-8").split())
    assert sentence.format(VALUES[name]) in text


@pytest.mark.parametrize("page", ["parts.md", "flashing.md"])
def test_pages_ask_for_the_micropython_that_flash_asks_for(page: str) -> None:
    text = " ".join((NOTES / page).read_text(encoding="utf-8").split())
    least = "{}.{}".format(*PYTHON_MIN)
    assert set(re.findall(r"MicroPython (\d\.\d+) or later", text)) == {least}


def test_settings_that_the_pages_name_exist() -> None:
    known = constants()
    site_only = {"flow_meter", "flow_pulses", "battery_mv", "pressure_pa", "load_sense"}
    site_only |= {"load_on", "usb_power"}
    for page in PAGES:
        text = (NOTES / page).read_text(encoding="utf-8")
        for name in re.findall(r"`([a-z]+(?:_[a-z]+)+)`", text):
            assert name in known or name in site_only, f"{page}: {name}"


@pytest.mark.parametrize("page", [*PAGES, "README.md", "flashing.md"])
def test_no_page_has_more_than_five_cautions(page: str) -> None:
    """Nobody reads ten. The bullets before the first part of a page, or under "Before"."""
    text = (NOTES / page).read_text(encoding="utf-8")
    if page == "README.md":
        text = text.partition("## Before you build")[2]
    first = re.split(r"^## ", text, maxsplit=1, flags=re.MULTILINE)[0]
    assert len(re.findall(r"^- ", first, re.MULTILINE)) <= 5


def _anchors(page: str) -> set[str]:
    """The ids that a page's headings get where it is shown: small letters, blanks to hyphens."""
    text = (NOTES / page).read_text(encoding="utf-8")
    headings = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", one.lower()).replace(" ", "-") for one in headings}


@pytest.mark.parametrize("page", sorted(path.name for path in NOTES.glob("*.md")))
def test_links_lead_somewhere(page: str) -> None:
    text = (NOTES / page).read_text(encoding="utf-8")
    for target, anchor in re.findall(r"\]\(([\w./-]*)(?:#([\w-]+))?\)", text):
        assert not target or (NOTES / target).exists(), target
        if anchor:
            assert anchor in _anchors(target or page), f"{target}#{anchor}"


@pytest.mark.parametrize("page", PAGES)
def test_every_page_has_a_caution(page: str) -> None:
    text = (NOTES / page).read_text(encoding="utf-8")
    first = re.split(r"^## ", text, maxsplit=1, flags=re.MULTILINE)[0]
    assert "**" in first
