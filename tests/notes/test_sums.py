"""The arithmetic of the notes comes out, and starts from the code's own values."""

import pytest

from tests.notes.constants import constants
from tests.notes.sums import NOTES, PAGES, Sum, blocks, read_line, work_out

# Rules of thumb: nothing in the code has them, and the page says that they have no source.
ASSUMED = {
    "board_asleep_5v_ma": 2.0,
    "clock_5v_ma": 0.2,
    "transducer_5v_ma": 5.0,
    "converter_efficiency": 0.8,
    "clamp_leak_na": 25.0,
    "board_fuse_mohm": 100.0,  # of a blade fuse of 1 A; data sheets, from memory
    "polyfuse_ohm": 2.8,  # of a resettable fuse that holds 0.2 A; data sheets, from memory
    "pull_up_least_ohm": 30000.0,  # RP2040 50 kΩ, ESP32 some 45 kΩ, less a third; from memory
    "pull_up_most_ohm": 80000.0,  # RP2040 data sheet, pull-ups; from memory
    "pin_least_mv": 2600.0,  # RP2040 data sheet, output high at 4 mA; from memory
    "pull_down_ohm": 45000.0,  # ESP32 data sheet, table of DC characteristics; from memory
}
ALL = [line for page in PAGES for block in blocks(page) for line in block]
WORKED = [pair for page in PAGES for block in blocks(page) for pair in work_out(block)]
CHOSEN = {line.name: line.value for block in blocks("parts.md") for line in block}


@pytest.fixture(scope="module")
def known() -> dict[str, float]:
    return constants()


def test_the_sums_come_out() -> None:
    wrong = [
        f"{line.page}: {line.name} = {line.value}, but it comes to {value}"
        for line, value in WORKED
        if abs(value - line.value) > line.half_digit * 1.000001
    ]
    assert not wrong


def test_given_values_are_those_of_the_code(known: dict[str, float]) -> None:
    wrong = []
    given = 0
    for line in ALL:
        if line.name in known:
            given += 1
            if abs(known[line.name] - line.value) > line.half_digit * 1.000001:
                wrong.append(f"{line.page}: {line.name} {line.value}, code {known[line.name]}")
    assert not wrong
    assert given > 60


def test_nothing_is_given_without_an_origin(known: dict[str, float]) -> None:
    """A given value is the code's, a part's, a rule of thumb, or worked out on another page."""
    worked = {line.name: line.value for line in ALL if line.expression}
    for line in ALL:
        if line.expression or line.name in known:
            continue
        origin = CHOSEN.get(line.name, ASSUMED.get(line.name, worked.get(line.name)))
        assert origin is not None, f"{line.page}: where does {line.name} come from?"
        assert line.value == pytest.approx(origin, abs=line.half_digit), line


def test_one_name_one_value() -> None:
    first: dict[str, Sum] = {}
    for line in ALL:
        other = first.setdefault(line.name, line)
        shown = max(line.half_digit, other.half_digit)
        assert abs(line.value - other.value) <= 2.0 * shown, f"{line} and {other}"


@pytest.mark.parametrize("page", PAGES)
def test_page_is_linked(page: str) -> None:
    assert f"]({page})" in (NOTES / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("coil_ohm", "12 V coil, {:g} Ω"),
        ("contact_a", "contact {:g} A at 14 V DC"),
        ("contact_makes_a", "makes {:g} A"),
        ("base_ohm", "| {:g} Ω |"),
        ("battery_filter_nf", "{:g} nF (battery)"),
        ("pressure_filter_nf", "{:g} nF (pressure)"),
        ("board_fuse_a", "| board fuse | {:g} A |"),
    ],
)
def test_parts_list_has_what_was_reckoned_with(value: str, text: str) -> None:
    assert text.format(CHOSEN[value]) in (NOTES / "parts.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("top", "bottom"),
    [("battery_top_ohm", "battery_bottom_ohm"), ("pressure_top_ohm", "pressure_bottom_ohm")],
)
def test_parts_list_has_the_dividers(top: str, bottom: str, known: dict[str, float]) -> None:
    values = CHOSEN | known
    text = f"{values[top] / 1e3:g} kΩ over {values[bottom] / 1e3:g} kΩ"
    assert text in (NOTES / "parts.md").read_text(encoding="utf-8")


def test_margins_are_margins() -> None:
    """What the pages call room is more than nothing."""
    rooms = {line.name: value for line, value in WORKED if "room" in line.name}
    assert {"band_room_mv", "pull_in_room_mv", "steady_room", "makes_room"} <= set(rooms)
    for name, value in rooms.items():
        least = 0.0 if name.endswith("_mv") else 1.0
        assert value > least, name


def test_load_sense_is_high_wherever_the_pump_runs() -> None:
    value = {line.name: result for line, result in WORKED}
    assert value["load_at_floor_mv"] > value["high_mv"]


def test_divider_against_a_published_worked_value() -> None:
    """12.00 V through 100k over 22k on a 12-bit converter of 3.3 V is code 2685 (arithmetic)."""
    step_mv = next(value for line, value in WORKED if line.name == "battery_step_mv")
    assert int(12000.0 / step_mv) in (2684, 2685, 2686)


def test_a_wrong_line_is_seen() -> None:
    line = read_line("page", "step_mv = 18300 / 4096 = 4.57")
    [(_, value)] = work_out([line])
    assert abs(value - line.value) > line.half_digit
    with pytest.raises(ValueError, match="no sum"):
        read_line("page", "step_mv is 4.57")
    with pytest.raises(ValueError, match="no arithmetic"):
        read_line("page", "step_mv = __import__('os') = 4")
