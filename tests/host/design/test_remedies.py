"""What a refusal names to buy is enough, and no more than is needed."""

from dataclasses import replace
from pathlib import Path

from click.testing import CliRunner

from rillkeeper.cli import cli
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.remedies import named
from rillkeeper.errors import NoSafeLimit
from rillkeeper.site.file import DEMO as DEMO_FILE
from rillkeeper.site.file import demo_site
from rillsim.site import Site

DEMO = demo_site()
QUICK = replace(
    DEMO,
    line=replace(DEMO.line, length_m=8.0, bore_m=0.0127, modulus_pa=1e9),
    sprinkler=replace(DEMO.sprinkler, nozzle_bore_m=4.5e-3),
)


def with_nozzle(site: Site, bore_m: float) -> Site:
    return replace(site, sprinkler=replace(site.sprinkler, nozzle_bore_m=bore_m))


def is_refused(site: Site) -> bool:
    try:
        settings_of(site)
    except NoSafeLimit:
        return True
    return False


def test_the_smallest_nozzle_that_does_is_named() -> None:
    narrow = with_nozzle(DEMO, 3.2e-3)
    assert is_refused(narrow)
    words = named(narrow)
    assert words.startswith("; limits exist with a nozzle of ")
    bore_m = float(words.split("nozzle of ")[1].split(" mm")[0]) / 1e3
    assert not is_refused(with_nozzle(DEMO, bore_m))
    assert is_refused(with_nozzle(DEMO, bore_m - 1e-4))


def test_a_pump_with_its_own_switch_is_named() -> None:
    assert is_refused(QUICK)
    assert "with a pump that has a pressure switch of its own" in named(QUICK)
    assert not is_refused(replace(QUICK, pump=replace(QUICK.pump, pressure_switch=True)))


def test_two_things_where_one_does_not_do() -> None:
    narrow = with_nozzle(QUICK, 3.0e-3)
    words = named(narrow)
    assert " and a nozzle of " in words
    assert words.count(" and ") <= 2


def test_a_cable_or_a_battery() -> None:
    thin = replace(DEMO, cable=replace(DEMO.cable, length_m=12.0, area_m2=1.3e-6))
    assert is_refused(thin)
    assert "a cable of" in named(thin)


def test_nothing_where_nothing_helps() -> None:
    assert named(replace(DEMO, water=replace(DEMO.water, lift_m=2.4))) == ""


def test_the_command_says_it(tmp_path: Path) -> None:
    path = tmp_path / "narrow.toml"
    text = DEMO_FILE.read_text("utf-8")
    path.write_text(text.replace('nozzle_bore = "5.5 mm"', 'nozzle_bore = "3.2 mm"'), "utf-8")
    result = CliRunner().invoke(cli, ["limits", str(path)])
    assert result.exit_code == 6
    assert "limits exist with a nozzle of" in " ".join(result.stderr.split())
