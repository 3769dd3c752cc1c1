"""The shopping list: what it says is what the sizing says, and what the notes say."""

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from rillkeeper.cli import cli
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.shopping import Item, Shopping, shopping_of
from rillkeeper.design.size.tables import tables_of
from rillkeeper.design.size.wires import Wires, wires_of
from rillkeeper.design.size.workings import work_out
from rillkeeper.site.file import demo_site
from rillsim.site import Site

DEMO = demo_site()
PARTS = Path(__file__).parents[3] / "hardware_notes" / "parts.md"


def listed(site: Site) -> tuple[Wires, Shopping]:
    work = WorkingSite(site)
    wires = wires_of(work)
    return wires, shopping_of(work, wires)


def item(site: Site, part: str) -> Item:
    return next(one for one in listed(site)[1].items if one.part == part)


def test_parts_page_has_the_same_ratings() -> None:
    wires, _ = listed(DEMO)
    text = PARTS.read_text(encoding="utf-8")
    assert f"blade fuse {wires.fuse_wanted_a:g} A, 32 V DC" in text
    assert f"| hand switch | {wires.switch_a:g} A at 14 V DC or more" in text
    contact = f"contact {wires.relay_contact_a:g} A at 14 V DC, makes {wires.relay_makes_a:g} A"
    assert contact in text


def test_relay_makes_the_inrush_and_outlives_the_fuse() -> None:
    wires, _ = listed(DEMO)
    assert wires.relay_makes_a >= wires.inrush_a
    assert wires.relay_contact_a > wires.fuse_a
    rating = item(DEMO, "relay").rating
    assert f"{wires.relay_contact_a:g} A" in rating
    assert f"makes {wires.relay_makes_a:g} A" in rating


def test_a_flow_meter_is_bought_for_the_most_that_can_come() -> None:
    metered = replace(DEMO, board=replace(DEMO.board, flow_fitted=True))
    assert "flow meter" not in {one.part for one in listed(DEMO)[1].items}
    open_flow = 6e4 * DEMO.pump.open_flow_m3_s
    rating = item(metered, "flow meter").rating
    assert rating.startswith(f"450 pulses per litre to ground, for {open_flow:.1f} L/min and ")


def test_a_second_relay_comes_with_its_driver() -> None:
    """Of the same ratings as the first one's, on the parts page."""
    two = replace(DEMO, board=replace(DEMO.board, second_relay_fitted=True))
    assert [item(site, "relay").quantity for site in (DEMO, two)] == [1, 2]
    added = {one.part for one in listed(two)[1].items} - {
        one.part for one in listed(DEMO)[1].items
    }
    assert added == {"driver of the second relay", "wire from relay to relay"}
    text = PARTS.read_text(encoding="utf-8")
    rating = item(two, "driver of the second relay").rating
    for part, ohm in (("base resistor", "470 "), ("resistor, base to ground", "10 k")):
        assert f"| {part} | {ohm}" in text
        assert f"{ohm}ohm" in rating


def test_a_small_battery_needs_no_fuse_on_the_post() -> None:
    """A blade fuse breaks 1000 A (ISO 8820-3, from memory); 30 Ah cannot give that."""
    parts = [one.part for one in listed(DEMO)[1].items]
    assert "fuse on the post" in parts
    small = replace(DEMO, battery=replace(DEMO.battery, capacity_ah=30.0))
    wires, shopping = listed(small)
    assert wires.blade_breaks
    assert "fuse on the post" not in [one.part for one in shopping.items]


@pytest.mark.parametrize(
    ("chemistry", "capacity_ah", "least_kg", "most_kg"),
    [("flooded", 116.0, 28.0, 34.0), ("agm", 100.0, 27.0, 33.0), ("lfp", 100.0, 10.0, 14.0)],
)
def test_batteries_weigh_what_such_batteries_weigh(
    chemistry: str, capacity_ah: float, least_kg: float, most_kg: float
) -> None:
    """Common practice, no source: the outside review reckoned 31 kg for 116 Ah."""
    battery = replace(DEMO.battery, chemistry=chemistry, capacity_ah=capacity_ah)
    mass_kg = item(replace(DEMO, battery=battery), "battery").mass_kg
    assert mass_kg is not None
    assert least_kg < mass_kg < most_kg


def test_a_heavy_battery_is_said() -> None:
    heavy = replace(DEMO, battery=replace(DEMO.battery, capacity_ah=116.0))
    for site, said in ((DEMO, False), (heavy, True)):
        table = next(one for one in tables_of(work_out(site)) if one.key == "shopping")
        assert ("carry it with two" in table.note) == said


def test_what_is_not_fitted_is_not_bought() -> None:
    bare = replace(
        DEMO,
        pump=replace(DEMO.pump, pressure_switch=True),
        board=replace(DEMO.board, rain_fitted=False, frost_fitted=False, clock_backed=False),
    )
    parts = {one.part for one in listed(bare)[1].items}
    gone = {one.part for one in listed(DEMO)[1].items} - parts
    assert gone == {
        "pressure switch at the pump's outlet",
        "rain contact",
        "temperature sensor",
        "clock chip with its own cell",
    }


def test_size_prints_it() -> None:
    result = CliRunner().invoke(cli, ["size"], prog_name="rillkeeper")
    assert result.exit_code == 0
    assert "What to buy for this site" in result.stdout
