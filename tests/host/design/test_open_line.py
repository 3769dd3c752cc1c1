"""A wide nozzle high above the pump: most of the pressure is the water that stands in the line."""

from dataclasses import replace

import pytest

from keeper.settings import SCHEMA
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.remedies import named
from rillkeeper.errors import NoSafeLimit
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from rillsim.site import FaultSpec, Site
from tests.scenarios.events import cause_of

DEMO = replace(demo_site(), faults=())
USUAL_PERMILLE = next(row[4] for row in SCHEMA if row[0] == "line_open_permille")


def high(rise_m: float, nozzle_m: float) -> Site:
    return replace(
        DEMO,
        line=replace(DEMO.line, length_m=12.0, bore_m=0.019, rise_m=rise_m),
        sprinkler=replace(DEMO.sprinkler, nozzle_bore_m=nozzle_m),
    )


HIGH = high(6.0, 7e-3)


def causes_of(site: Site, settings: dict[str, int]) -> list[str]:
    log = replay(site, settings, nights=2, seed=1, fast=True).log
    return [cause_of(int(line.split("cause=")[1].split()[0])) for line in log if " given " in line]


def test_the_share_stands_between_dry_and_the_lowest_normal_pressure() -> None:
    settings = settings_of(HIGH)
    open_pa = settings["normal_pa"] * settings["line_open_permille"] / 1000
    assert settings["line_open_permille"] > USUAL_PERMILLE
    assert settings["dry_pa"] < open_pa < settings["primed_pa"]


def test_the_demo_keeps_the_usual_share() -> None:
    assert "line_open_permille" not in settings_of(DEMO)


def test_a_burst_hose_is_told_as_an_open_line_and_a_sound_night_is_none() -> None:
    settings = settings_of(HIGH)
    burst = replace(HIGH, faults=(FaultSpec("hose_burst", 2, 120.0, 0.6),))
    assert causes_of(HIGH, settings) == ["complete", "complete"]
    assert causes_of(burst, settings) == ["complete", "line open"]


def test_where_no_share_is_left_a_narrower_nozzle_is_named() -> None:
    widest = high(9.0, 8e-3)
    with pytest.raises(NoSafeLimit, match="an open line makes up to"):
        settings_of(widest)
    bore_mm = float(named(widest).split("nozzle of ")[1].split(" mm")[0])
    assert bore_mm < 8.0
    settings_of(high(9.0, bore_mm / 1e3))
