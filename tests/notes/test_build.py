"""The build guide, the wire list, the card and the firmware's pins hold together.

What is checked against: the firmware's own table of pins, the values that the simulator and the
sums reckon with, the page of parts, and ASTM B258 for wire gauges.
"""

import re
from collections import Counter

import pytest

pytest.importorskip("schemdraw")

from device.pins import TABLE
from hardware_notes.building import card
from hardware_notes.building.pages import PAGES
from hardware_notes.building.step import BEEP, OHM, VOLT, Check
from hardware_notes.building.steps import STEPS, WITH_ONE_RELAY, needs_of, ratings, totals
from hardware_notes.building.terminals import BOARDS, PLACES, is_terminal
from hardware_notes.building.wires import KINDS, NUMBER, WIRES, wire_between
from rillkeeper.board.proof.steps import BY_ID
from rillkeeper.site.file import demo_site
from rillsim.supply import wiring
from tests.notes.constants import constants
from tests.notes.sums import NOTES, blocks
from tests.notes.test_pictures import texts

GUIDE = (NOTES / "build.md").read_text(encoding="utf-8")
WIRE_LIST = (NOTES / "wires.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in WIRE_LIST.splitlines()
    if re.match(r"\| \d+ \|", line)
]
CHOSEN = {line.name: line.value for line in blocks("parts.md")[0]}
CHECKS = [check for step in STEPS for check in step.checks]
FIRST_POWER = 11
_NAME = re.compile(
    r"\b(?:X\d|S\d|K\d|F[0-2]|U\d|H1|M1|P1|T1|I1|G1|BAT)\.(?:\d+|OUT[+-]|IN[+-]|\w+|[+-])"
)


@pytest.mark.parametrize("name", PAGES)
def test_committed_page_is_what_the_code_makes(name: str) -> None:
    committed = (NOTES / name).read_text(encoding="utf-8")
    assert committed == PAGES[name](), f"{name} is out of date: run `make notes`"


def test_every_terminal_of_the_guide_is_on_the_wire_list() -> None:
    listed = set(_NAME.findall(WIRE_LIST)) | {"F0.1"}
    named = set(_NAME.findall(GUIDE))
    assert len(named) > 60
    for terminal in named:
        assert is_terminal(terminal), terminal
        # OUT- is named to say that it stays empty; X4.5 is for the probe alone.
        assert terminal in listed | {"U1.OUT-", "X4.5"}, terminal


def test_ends_of_wires_and_probes_are_terminals() -> None:
    ends = [end for wire in WIRES for end in (wire.start, wire.end)]
    for end in [*ends, *(probe for check in CHECKS for probe in (check.red, check.black))]:
        assert is_terminal(end), end


def test_every_wire_is_laid_once() -> None:
    laid = Counter(ends for step in STEPS for ends in step.wires)
    assert laid == Counter((wire.start, wire.end) for wire in WIRES)


def test_every_terminal_has_its_wire() -> None:
    wired = {end for wire in WIRES for end in (wire.start, wire.end)}
    for place, row in PLACES.items():
        for number in row.terminals:
            assert f"{place}.{number}" in wired | {"F0.1", "U1.OUT-", "X4.5"}, f"{place}.{number}"


@pytest.mark.parametrize("board", BOARDS)
def test_the_list_has_the_firmwares_pins(board: str) -> None:
    prefix, column = {"rp2": ("GP", 2), "esp32": ("GPIO", 3)}[board]
    shown = [row[column] for row in ROWS]
    on_the_board = {"rp2": {"lamp", "usb_power"}, "esp32": {"usb_power"}}[board]
    others = {"timer", "i2c", "look_ms", "nap_ms_max", "hold_ms", "write_bytes", "flow_irq"}
    for name in set(TABLE[board]) - on_the_board - others:
        assert shown.count(f"A1 {prefix}{TABLE[board][name]}") == 1, name
    pins = [one for one in shown if re.fullmatch(rf"A1 {prefix}\d+", one)]
    assert len(pins) == len(set(pins)) == len(set(TABLE[board]) - on_the_board - others)


def joined_to(start: str, joins: list[set[str]]) -> set[str]:
    """Everything that such joins lead to from a terminal."""
    found, more = {start}, True
    while more:
        more = False
        for join in joins:
            if join & found and not join <= found:
                found |= join
                more = True
    return found


def _reached(start: str) -> set[str]:
    """Everything that is joined to a terminal by wires, copper, and resistors in series."""
    joins = [{wire.start, wire.end} for wire in WIRES]
    joins += [set(net) for net in card.nets()]
    joins += [{"X1.2", "X1.3"}, {"X1.4", "X1.5"}]
    in_series = [f"R{number}" for number in (1, 3, *range(10, 60, 10), 80, *range(12, 90, 10))]
    joins += [{f"{one}.1", f"{one}.2"} for one in in_series]
    return joined_to(start, joins)


LEADS = {
    "relay": "Q1.2",
    "second_relay": "Q2.2",
    "load_sense": "K1.87",
    "battery": "K1.30",
    "pressure": "P1.out",
    "frost": "T1.out",
    "rain": "S3.1",
    "button": "S4.1",
    "current": "I1.out",
    "sda": "U2.SDA",
    "scl": "U2.SCL",
    "lamp": "H1.1",
    "flow": "G1.out",
}


@pytest.mark.parametrize("signal", LEADS)
def test_each_pin_hangs_on_its_sensor_and_on_no_other(signal: str) -> None:
    reached = _reached(f"A1.{signal}")
    assert {lead for lead in LEADS.values() if lead in reached} == {LEADS[signal]}
    assert not {"BAT.+", "X4.1", "X4.6"} & reached - _reached("K1.30")


def test_emitter_and_sensors_return_to_the_boards_ground() -> None:
    """W11 of the review: with the emitter on the bar a board without ground closes the relay."""
    joined = next(net for net in card.nets() if "Q1.3" in net)
    assert {"X5.11", "Q2.3"} <= joined
    on_the_bar = {wire.start for wire in WIRES if wire.end.startswith("X2.")}
    on_the_bar |= {wire.end for wire in WIRES if wire.start.startswith("X2.")}
    assert on_the_bar == {"BAT.-", "M1.-", "A1.GND1", "U1.IN-"}
    for ground in ("P1.-", "T1.-", "S3.2", "S4.2", "I1.-", "G1.-", "U2.GND", "H1.2"):
        assert "A1.GND2" in _reached(ground), ground


def test_the_card_is_the_circuit() -> None:
    assert card.nets() == {frozenset(net.split()) for net in card.CIRCUIT.values()}
    holes = [hole for part in card.PARTS for hole in part.holes] + list(card.TERMINALS.values())
    assert max(Counter(holes).values()) == 1
    assert max(card.row(hole) for hole in holes) <= card.ROWS
    names = [part.id for part in card.PARTS if part.kind != "link"]
    assert max(Counter(names).values()) == 1


def test_the_card_has_the_values_of_the_wiring_picture() -> None:
    drawn = texts("wiring_rp2.svg")
    for part in card.PARTS:
        if part.kind in "RC":
            assert part.value in drawn, part


def _ohm(value: str) -> float:
    number, unit = value.split()
    return float(number) * {"Ω": 1.0, "kΩ": 1e3}[unit]


def test_the_card_has_the_values_reckoned_with() -> None:
    ohm = {part.id: _ohm(part.value) for part in card.PARTS if part.kind == "R"}
    known = constants() | CHOSEN
    assert ohm["R1"] == ohm["R3"] == known["base_ohm"]
    assert ohm["R2"] == ohm["R4"] == known["base_pull_down_ohm"]
    assert (ohm["R10"], ohm["R11"]) == (known["pressure_top_ohm"], known["pressure_bottom_ohm"])
    assert ohm["R61"] == known["battery_bottom_ohm"]
    assert ohm["R71"] == known["load_bottom_ohm"]
    assert ohm["R81"] == known["pull_up_ohm"]
    assert {ohm[name] for name in ("R20", "R30", "R40", "R50", "R80")} == {known["lead_ohm"]}
    assert {ohm[f"R{number}"] for number in range(12, 90, 10)} == {known["guard_ohm"]}


def _range(check: Check) -> tuple[float, float]:
    [(low, high, unit)] = re.findall(r"^([\d.]+) to ([\d.]+) (kΩ|Ω|V)", check.reads)
    factor = 1e3 if unit == "kΩ" else 1.0
    return float(low) * factor, float(high) * factor


def _reading(red: str, black: str, dial: str) -> tuple[float, float]:
    [check] = [c for c in CHECKS if (c.red, c.black, c.dial) == (red, black, dial)]
    return _range(check)


def test_the_meter_reads_what_the_circuit_gives() -> None:
    known = constants() | CHOSEN
    guard, lead = known["guard_ohm"], known["lead_ohm"]
    for red, black, ohm in (
        ("X4.5", "X5.1", known["base_ohm"] + known["base_pull_down_ohm"]),
        ("X4.5", "X5.15", known["base_ohm"] + known["base_pull_down_ohm"]),
        ("X6.1", "X5.4", known["pressure_top_ohm"] + guard),
        ("X6.4", "X5.5", lead + guard),
        ("X6.7", "X5.6", lead + guard),
        ("X6.9", "X5.7", lead + guard),
        ("X6.13", "X5.16", lead + guard),
        ("X5.3", "X4.5", known["battery_bottom_ohm"] + guard),
        ("X5.2", "X4.5", known["load_bottom_ohm"] + guard),
        ("X1.2", "X1.3", known["battery_top_ohm"]),
        ("X1.4", "X1.5", known["load_top_ohm"]),
        ("X1.2", "A1.battery", known["battery_top_ohm"] + guard),
        ("X1.4", "A1.load_sense", known["load_top_ohm"] + guard),
        ("K1.86", "K1.85", known["coil_ohm"]),
        ("X4.9", "X4.10", known["coil_ohm"]),
    ):
        low, high = _reading(red, black, OHM)
        assert low < ohm < high, (red, black)
        assert high < 1.55 * low
    scale = known["battery_full_mv"] / known["converter_full_mv"]
    low, high = _reading("A1.battery", "A1.GND1", VOLT)
    assert low < 12.0 / scale < 13.0 / scale < high
    low, high = _reading("X3.1", "X3.3", VOLT)
    assert low < 0.1 * known["transducer_supply_mv"] / 1e3 < high
    share = known["pressure_bottom_ohm"] / (
        known["pressure_top_ohm"] + known["pressure_bottom_ohm"]
    )
    pin_low, pin_high = _reading("A1.pressure", "A1.GND1", VOLT)
    assert pin_low < low * share < high * share < pin_high
    at_20_c = known["frost_zero_mv"] + 20.0 * known["frost_mv_per_c"]
    assert f"{at_20_c / 1e3:.2f} V at 20 °C" in GUIDE


def test_parts_are_those_of_the_page_of_parts() -> None:
    listed = ratings()
    for step in STEPS:
        for need in needs_of(step):
            assert need.part in listed, need
            assert need.count > 0
    assert set(listed) - set(totals()) == {
        "current sensor, if any",
        "second relay, if any",
        "flow meter, if any",
    }


def test_the_guide_counts_what_the_card_takes() -> None:
    counted = totals()
    fitted = [part for part in card.PARTS if not part.only]
    assert counted["clamp diodes"] == sum(part.value == "clamp" for part in fitted) == 12
    assert counted["resistor before each input pin"] == 6
    assert counted["resistor in each long lead"] == 3


def test_glands_are_as_many_as_cables() -> None:
    """The flow meter's is of its own step."""
    cables = {wire.cable for wire in WIRES if wire.cable and wire.only != "flow meter"}
    [metering] = [step for step in STEPS if ("G1.out", "X3.13") in step.wires]
    assert [need.count for need in metering.needs if need.part == "gland M12"] == [1]
    thick = {wire.cable for wire in WIRES if wire.cable and wire.gauge.startswith("12")}
    assert totals()["gland M20"] == len(thick)
    assert totals()["gland M12"] == len(cables - thick)


def test_gauges_are_their_sections() -> None:
    """ASTM B258: a gauge has 0.127 mm times 92 to the power of (36 - gauge) / 39."""
    for kind in KINDS.values():
        [(gauge, section)] = re.findall(r"(\d+) AWG or ([\d.]+) mm²", kind.gauge)
        diameter_mm = 0.127 * 92.0 ** ((36 - int(gauge)) / 39)
        assert float(section) == pytest.approx(0.7854 * diameter_mm**2, rel=0.25), kind


def test_wires_carry_what_their_fuse_lets_through() -> None:
    known = constants()
    site = demo_site()
    thick_m2 = 0.7854e-6 * (0.127 * 92.0 ** (24 / 39)) ** 2
    assert thick_m2 == pytest.approx(site.cable.area_m2, rel=0.01)
    assert wiring.area_ampacity_a(thick_m2, "pvc") >= known["fuse_a"]
    feed_m2 = wiring.awg_area_m2(18)
    assert wiring.area_ampacity_a(feed_m2, "pvc") >= 5.0 * CHOSEN["board_fuse_a"]
    for wire in WIRES:
        if wire.kind in ("plus", "pump", "minus"):
            assert wire.gauge.startswith("12 AWG")


def test_the_cable_is_long_enough_and_so_is_the_wire_that_is_bought() -> None:
    reach_m = dict.fromkeys(("W1", "W3"), 0.0)
    for wire in WIRES:
        if wire.cable in reach_m:
            reach_m[wire.cable] = max(reach_m[wire.cable], wire.length_m)
    assert sum(reach_m.values()) <= demo_site().cable.length_m
    inside: Counter[tuple[str, str]] = Counter()
    for wire in WIRES:
        if not wire.cable:
            inside[wire.gauge, wire.colour] += wire.length_m
    listed = ratings()
    for part in ("thick wire for the box", "feed wire", "coil and 5 V wire", "thin wire"):
        gauge, colours = re.findall(r"^(\d+ AWG or [\d.]+ mm²)(.*)$", listed[part])[0]
        if "of each" in colours:
            metres = float(re.findall(r"([\d.]+) m of each", colours)[0])
            bought = dict.fromkeys(re.findall(r"white|grey|violet|black", colours), metres)
        else:
            bought = {c: float(m) for c, m in re.findall(r"(\w+) ([\d.]+) m\b", colours)}
        for colour, metres in bought.items():
            assert 0.0 < inside.pop((gauge, colour)) <= metres, (gauge, colour)
    assert not inside


def test_steps_have_pictures_and_checks_and_no_volts_before_the_first_power() -> None:
    assert 15 <= len(WITH_ONE_RELAY) <= 20
    assert all(step.optional for step in STEPS[len(WITH_ONE_RELAY) :])
    assert STEPS[FIRST_POWER - 1].title.startswith("Polarity")
    assert f"before step {FIRST_POWER}**" in GUIDE
    for number, step in enumerate(STEPS, 1):
        assert step.checks or step.also, step.title
        assert GUIDE.count(f"](pictures/step_{number:02}.svg)") == 1
        assert step.tools
        assert step.do
        if number < FIRST_POWER:
            assert {check.dial for check in step.checks} <= {BEEP, OHM, "diode"}, step.title


@pytest.mark.parametrize("number", range(1, len(STEPS) + 1))
def test_words_stay_on_the_picture(number: int) -> None:
    """A letter is reckoned as 0.6 of its size, the mean of a sans-serif face (from memory)."""
    svg = (NOTES / f"pictures/step_{number:02}.svg").read_text(encoding="utf-8")
    width = float(re.findall(r'viewBox="0 0 ([\d.]+)', svg)[0])
    found = re.findall(
        r'<text x="([\d.]+)" y="[\d.]+" font-size="([\d.]+)" text-anchor="(\w+)"[^>]*>([^<]*)<',
        svg,
    )
    assert found
    for x, size, anchor, words in found:
        long = 0.6 * float(size) * len(words)
        left = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * long
        assert left >= 0.0, words
        assert left + long <= width, words


def test_steps_that_are_named_by_number_are_those() -> None:
    """Steps that name another by its number."""
    assert STEPS[11].title.startswith("The converter")
    assert "Its output waits for step 12." in GUIDE
    assert STEPS[1].picture == "box"
    assert "the picture of step 2" in GUIDE
    assert STEPS[16].title.startswith("The first proof")
    assert "when step 17 is through" in GUIDE
    assert STEPS[5].title == "The card: inputs"
    assert "solders this with step 6" in GUIDE
    assert STEPS[20].optional
    assert GUIDE.count("\n# For a ") == 2
    assert "stay free until step 21" in GUIDE


def test_every_reading_says_what_another_one_means() -> None:
    for check in CHECKS:
        assert check.wrong != check.reads
        assert f"**{check.reads}**. *Else:* {check.wrong}." in GUIDE


def test_wires_that_a_text_names_by_number_are_laid_by_then() -> None:
    wires = {number: wire for wire, number in NUMBER.items()}
    laid: set[int] = set()
    named = 0
    for step in STEPS:
        laid |= {NUMBER[wire_between(*ends)] for ends in step.wires}
        texts = " ".join([*step.do, *step.also, *(check.wrong for check in step.checks)])
        for found in re.findall(r"\bwires? (\d+(?:(?:, | and | or )\d+)*)", texts):
            for number in map(int, re.findall(r"\d+", found)):
                assert number in laid, f"{step.title}: {wires[number]}"
                named += 1
    assert named > 20


def test_wires_that_the_proof_names_by_number() -> None:
    for step, start, end, words in (
        ("relay-chatter", "X5.2", "A1.load_sense", "wire {} at the board's pin"),
        ("swapped", "X5.3", "A1.battery", "the wires {} and"),
        ("swapped", "X5.4", "A1.pressure", "and {} at its pins"),
        ("no-flow", "X5.16", "A1.flow", "wire {} at the board's pin"),
        ("bad-meter", "X5.16", "A1.flow", "wire {} off the board's pin"),
        ("no-clock", "U2.SDA", "A1.sda", "wire {} off the board's pin"),
    ):
        assert words.format(NUMBER[wire_between(start, end)]) in BY_ID[step].before
    for step, terminal in (
        ("bad-pressure", "X3.1"),
        ("bad-battery", "X1.3"),
        ("bad-frost", "X3.4"),
        ("bad-current", "X3.11"),
    ):
        sensed = step.removeprefix("bad-")
        assert f"off {terminal}." in BY_ID[step].before
        assert terminal in _reached(f"A1.{sensed}")
