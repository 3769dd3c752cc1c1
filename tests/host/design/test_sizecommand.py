"""`rillkeeper size` and `rillkeeper limits` as a person runs them."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from keeper.settings import problems
from rillkeeper.cli import cli
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import DEMO, demo_site


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def changed(tmp_path: Path, *changes: tuple[str, str]) -> str:
    """The demonstration site with some lines changed."""
    text = DEMO.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "plot.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def no_constant(name: str) -> float:
    raise AssertionError(f"{name} is not JSON")


def test_without_a_file_it_is_the_demonstration() -> None:
    result = run("size")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == demo_site().name
    assert lines[1].startswith("This site works")
    assert "rillkeeper site new my-plot.toml" in " ".join(result.stdout.split())
    assert max(map(len, lines)) <= 100


def test_own_file_is_not_told_how_to_write_one() -> None:
    result = run("size", str(DEMO))
    assert "site new" not in result.stdout


def test_a_source_above_the_nozzle_wants_a_valve(tmp_path: Path) -> None:
    lift = next(line for line in DEMO.read_text("utf-8").splitlines() if line.startswith("lift"))
    path = changed(tmp_path, (f"{lift}\n", 'lift = "-2.5 m"\n'))
    said = " ".join(run("size", path).stdout.split())
    assert "water runs by itself: fit a valve" in said
    refused = run("limits", path)
    assert refused.exit_code == 6
    assert "runs by itself. Fit a valve" in refused.stderr
    checked = run("site", "check", path)
    assert checked.exit_code == 0
    assert "but the water stands" in checked.stderr
    week = run("week", path, "--nights", "1", "--quick")
    assert week.exit_code == 0
    assert "came out of the sprinkler" in " ".join(week.stdout.split())
    fitted = changed(
        tmp_path, (lift, 'lift = "-2.5 m"'), ("[suction]", "[suction]\nstop_valve = true")
    )
    assert "by itself" not in run("size", fitted).stdout
    assert run("limits", fitted).exit_code == 0
    assert run("site", "check", fitted).stderr == ""


@pytest.mark.parametrize(
    "title",
    ["Where the head goes, m", "Where the volts go", "Cable and fuse", "Nights on a charge"],
)
def test_tables_are_there(title: str) -> None:
    assert title in run("size").stdout


def test_american_units(tmp_path: Path) -> None:
    path = changed(tmp_path, ('units = "metric"', 'units = "us"'))
    out = run("size", path).stdout
    assert "gal/min" in out
    assert "Where the head goes, ft" in out
    assert " bar" not in out
    assert "L/min" not in out


def test_json_is_whole_and_finite(tmp_path: Path) -> None:
    result = run("size", "--json")
    found = json.loads(result.stdout, parse_constant=no_constant)
    assert found["schema"] == 1
    assert found["verdict"]["works"] is True
    assert found["facts"]["flow_m3_s"] == found["points"]["half"]["flow_m3_s"] > 0.0
    lift = changed(tmp_path, ('lift = "1.4 m"', 'lift = "8.5 m"'), ('"4 m"', '"12 m"'))
    result = run("size", lift, "--json")
    assert result.exit_code == 0
    found = json.loads(result.stdout, parse_constant=no_constant)
    assert found["verdict"]["works"] is False
    assert found["facts"]["runs"] is False


def test_site_that_cannot_work_is_an_answer(tmp_path: Path) -> None:
    lift = changed(tmp_path, ('lift = "1.4 m"', 'lift = "8.5 m"'), ('"4 m"', '"12 m"'))
    result = run("size", lift)
    assert result.exit_code == 0
    assert "This site cannot work" in result.stdout
    assert "Where the head goes" not in result.stdout


def test_mistakes_come_all_at_once(tmp_path: Path) -> None:
    path = changed(tmp_path, ('lift = "1.4 m"', 'lift = "40 m"'), ("5.5 gal/min", "5.5 gal"))
    result = run("size", path)
    assert result.exit_code == 6
    assert "water.lift" in result.stderr
    assert "pump.open_flow" in result.stderr


def test_strand_class_that_does_not_exist(tmp_path: Path) -> None:
    for strand_class, status in ((6, 0), (4, 6)):
        path = changed(
            tmp_path, ('clamps = "4 mohm"', f'clamps = "4 mohm"\nstrand_class = {strand_class}')
        )
        assert run("size", path).exit_code == status


def test_wanted_nights(tmp_path: Path) -> None:
    found = json.loads(run("size", "--json", "--nights", "2").stdout)
    battery = next(a for a in found["verdict"]["answers"] if a["key"] == "battery")
    assert battery["state"] == "good"
    assert found["nights"]["wanted"] == 2


def test_limits_file_is_what_the_week_runs_on(tmp_path: Path) -> None:
    target = tmp_path / "settings.json"
    result = run("limits", str(DEMO), "-o", str(target))
    assert result.exit_code == 0
    assert str(target) in result.stderr
    found = json.loads(target.read_text(encoding="utf-8"))
    assert found["settings"] == settings_of(demo_site())
    assert problems(found["settings"]) == []
    assert found["reasons"].keys() == found["settings"].keys()
    assert all(found["reasons"].values())


def test_limits_of_ranges_say_so_or_are_refused(tmp_path: Path) -> None:
    narrow = run("limits", changed(tmp_path, ('"1.4 m"', '"1.3 m to 1.5 m"')), "--json")
    assert narrow.exit_code == 0
    assert "middle of each range (water.lift 1.3 m to 1.5 m)" in narrow.stderr
    assert json.loads(narrow.stdout)["settings"]["prime_ms"] > 0
    wide = run("limits", changed(tmp_path, ('"1.4 m"', '"0.4 m to 2.4 m"')))
    assert wide.exit_code == 6
    assert "with water.lift at 2.4 m" in wide.stderr


def test_checked_site_tells_its_ranges(tmp_path: Path) -> None:
    out = run("site", "check", changed(tmp_path, ('"1.4 m"', '"1.3 m to 1.5 m"'))).stdout
    assert out.rstrip().endswith("1 range")


def test_limits_table_has_units_and_reasons() -> None:
    out = run("limits").stdout
    row = next(line for line in out.splitlines() if line.startswith("dead_head_pa"))
    assert "Pa" in row
    assert "normal" in row
    assert json.loads(run("limits", "--json").stdout)["schema"] == 1


def test_limits_refuse_saying_why(tmp_path: Path) -> None:
    path = changed(tmp_path, ('nozzle_bore = "5.5 mm"', 'nozzle_bore = "3 mm"'))
    target = tmp_path / "settings.json"
    result = run("limits", path, "-o", str(target))
    assert result.exit_code == 6
    assert "rating" in result.stderr
    assert not target.exists()


def test_limits_refuse_with_every_reason(tmp_path: Path) -> None:
    changes = (
        ('nozzle_bore = "5.5 mm"', 'nozzle_bore = "3 mm"'),
        ('lift = "1.4 m"', 'lift = "3 m"'),
    )
    result = run("limits", changed(tmp_path, *changes))
    assert result.exit_code == 6
    assert "rating" in result.stderr
    assert "primes from 2.0 m" in result.stderr


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('capacity = "80 Ah"', 'capacity = "12 Ah"', "the battery is empty before"),
        ('arc = "360 deg"', 'arc = "20 deg"\nfacing = "270 deg"', "no water comes down"),
    ],
)
def test_limits_name_what_is_wrong(tmp_path: Path, old: str, new: str, says: str) -> None:
    path = changed(tmp_path, (old, new), ('x = "5.35 m"', 'x = "-1 m"'))
    result = run("limits", path)
    assert result.exit_code == 6
    assert says in result.stderr


def test_limits_without_transducer_where_nothing_primes(tmp_path: Path) -> None:
    """The supply's limits build on the time to prime, of which there is none here."""
    changes = (('pressure = "fitted"', 'pressure = "not fitted"'), ('"1.4 m"', '"3 m"'))
    result = run("limits", changed(tmp_path, *changes))
    assert result.exit_code == 6
    assert "primes from 2.0 m" in result.stderr


def test_limits_into_no_folder(tmp_path: Path) -> None:
    result = run("limits", "-o", str(tmp_path / "nowhere" / "settings.json"))
    assert result.exit_code == 2
