"""How deep a battery is used, and what it was found to hold."""

from dataclasses import replace

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import WorkingSite, depth_of
from rillkeeper.design.size.nights import nights_of
from rillkeeper.errors import SiteError
from rillkeeper.site.file import demo_site, read_site
from rillsim.site import BatterySpec
from rillsim.supply.battery import Battery
from rillsim.supply.cycle_life import cycle_life

DEMO = demo_site()


@pytest.mark.parametrize(("chemistry", "usual"), [("flooded", 0.5), ("agm", 0.5), ("lfp", 0.8)])
def test_usual_depth_and_a_chosen_one(chemistry: str, usual: float) -> None:
    """Common practice, no source."""
    assert depth_of(BatterySpec(chemistry=chemistry)) == usual
    assert depth_of(BatterySpec(chemistry=chemistry, used_share=0.7)) == 0.7


def test_a_deeper_use_gives_nights_and_costs_charges() -> None:
    deeper = replace(DEMO, battery=replace(DEMO.battery, used_share=0.7))
    usual, found = nights_of(WorkingSite(DEMO)), nights_of(WorkingSite(deeper))
    assert found.depth == 0.7
    assert found.cases[0].nights > 1.2 * usual.cases[0].nights
    assert found.charges == cycle_life("flooded", 0.7) < usual.charges
    assert [row.depth for row in found.prices] == [0.3, 0.5, 0.7, 0.8]
    assert [row.depth for row in usual.prices] == [0.3, 0.5, 0.8]
    shallow, *others = found.prices
    assert all(row.nights > shallow.nights and row.charges < shallow.charges for row in others)


def test_the_board_is_told_of_the_deeper_use() -> None:
    deeper = replace(DEMO, battery=replace(DEMO.battery, used_share=0.7))
    usual, found = settings_of(DEMO), settings_of(deeper)
    assert found["capacity_mah"] == pytest.approx(1.4 * usual["capacity_mah"], rel=1e-3)
    assert found["empty_mv"] < usual["empty_mv"]
    assert found["cutout_mv"] < usual["cutout_mv"]


def test_a_measured_charge_takes_the_place_of_the_age() -> None:
    """Of 80 Ah a discharge at home gave 60 Ah in 20 h: so does the model."""
    spec = BatterySpec(capacity_ah=80.0, age=0.9, measured_ah=60.0)
    assert Battery(spec, temperature_c=25.0).capacity_ah(20.0) == pytest.approx(60.0)
    assert spec.lived == pytest.approx(1.25)
    assert spec.at_age(0.0).lived == 0.0
    site = replace(DEMO, battery=replace(DEMO.battery, measured_ah=60.0))
    cases = nights_of(WorkingSite(site)).cases
    assert cases[0].age == pytest.approx(1.25)
    assert cases[0].usable_ah < nights_of(WorkingSite(DEMO)).cases[0].usable_ah


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("measured", "90 Ah", "not of a battery that is rated 80 Ah"),
        ("measured", "20 Ah", "or it is worn out"),
        ("used", "5 %", "too little to water with"),
    ],
)
def test_refused(key: str, value: str, says: str) -> None:
    with pytest.raises(SiteError, match=says):
        read_site(BASE + f'[battery]\n{key} = "{value}"\n')


BASE = """
[board]
battery = "fitted"
pressure = "fitted"
load_sense = "fitted"
rain = "fitted"
button = "fitted"
frost = "fitted"
current = "not fitted"
[[set]]
run = "30 min"
"""
