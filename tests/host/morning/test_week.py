"""`rillkeeper week` as a person runs it: results, files, and one clear line for each mistake."""

import csv
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from keeper.lines import parse_line
from rillkeeper.cli import cli
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.morning.report.report import report_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.site.file import DEMO, demo_site
from rillkeeper.verdict import GOOD, LOOK
from rillsim.replay import replay

ONE_NIGHT = ("week", "--nights", "1", "--quick")
"""Without `why`, whose trials of a site take half a minute the first time."""


def run(*words: str) -> Result:
    return CliRunner().invoke(cli, list(words))


def test_table_has_a_row_a_night() -> None:
    result = run("week", "--nights", "2", "--quick")
    assert result.exit_code == 0, result.output
    nights = re.findall(r"^\w{3} +\d+ \w{3} +6\.0 mm", result.stdout, re.MULTILINE)
    assert len(nights) == 2
    for word in ("bar", "V", "Ah", "mm", "line shut"):
        assert word in result.stdout


def test_progress_goes_to_stderr() -> None:
    result = run(*ONE_NIGHT)
    assert "1 night: 50 %" in result.stderr
    assert "1 night:" not in result.stdout


def test_same_seed_same_output_and_another_seed_another() -> None:
    first, second = run(*ONE_NIGHT, "--json"), run(*ONE_NIGHT, "--json")
    other = run(*ONE_NIGHT, "--json", "--seed", "2")
    assert first.stdout == second.stdout
    assert first.stdout != other.stdout


def test_json_is_one_document() -> None:
    document = json.loads(run(*ONE_NIGHT, "--json").stdout)
    assert isinstance(document["schema"], int)
    assert len(document["nights"]) == 1
    assert document["beside_plant"] == [], "a sound board counts what the plant gives"


def test_json_has_the_ledger() -> None:
    """Energy, charge, water and soil: each closes within 0.01 %, and can be added up again."""
    ledger = json.loads(run(*ONE_NIGHT, "--json").stdout)["ledger"]
    assert set(ledger) == {"energy", "charge", "water", "soil_mean", "soil_driest_quarter"}
    for name, account in ledger.items():
        came, became = (sum(account[side].values()) for side in ("came", "became"))
        assert came > 1.0, name
        assert came == pytest.approx(became, rel=1e-4), name
        assert abs(account["off_percent"]) < 0.01, name
    assert ledger["water"]["became"]["on_plot_m3"] > 0.1
    soil, driest = (ledger[name]["came"] for name in ("soil_mean", "soil_driest_quarter"))
    assert 0.0 < driest["spray_mm"] < soil["spray_mm"]


@pytest.mark.parametrize(("deficit_mm", "state"), [(12.0, LOOK), (0.0, GOOD)])
def test_sets_that_all_run_are_not_all_that_the_crop_needs(deficit_mm: float, state: str) -> None:
    """Both nights are whole; the driest quarter is past its easy water at the end of one."""
    demo = demo_site()
    plot = replace(demo.plot, deficit_mm=deficit_mm)
    site = replace(demo, plot=plot, faults=(), battery_trips=())
    done = replay(site, settings_of(site), nights=2, fast=True)
    made = report_of(done.log, done.site, done.truth, done.trace, soil=done.soil)
    water = verdict_of(made)["water"]
    assert water.sentence == "The garden got its full water on all of 2 nights."
    assert water.state == state
    last, stress_mm = done.truth[-1], done.soil.readily_mm
    assert (last.deficit_low_mm > stress_mm) == (state == LOOK)
    assert f"the driest quarter of the plot lacks {last.deficit_low_mm:.1f} mm" in water.detail
    assert f"the plot on average {last.deficit_mm:.1f} mm" in water.detail
    assert made.stress_mm == pytest.approx(stress_mm)


def test_csv_and_log(tmp_path: Path) -> None:
    table, log = tmp_path / "week.csv", tmp_path / "run.log"
    result = run(*ONE_NIGHT, "--csv", str(table), "--log", str(log))
    assert result.exit_code == 0, result.output
    with table.open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    assert len(rows) == 2
    assert all(len(row) == len(rows[0]) for row in rows)
    lines = log.read_text(encoding="ascii").splitlines()
    assert [parse_line(line)[0] for line in lines] == list(range(len(lines)))


def test_added_fault_is_told_and_handled() -> None:
    result = run(*ONE_NIGHT, "--fault", "nozzle_gone@1+10min")
    assert result.exit_code == 0, result.output
    assert "line open" in result.stdout


def test_what_no_board_could_count_is_told_by_the_plant() -> None:
    """A contact that welds after 5 min: the battery is pumped empty, unasked."""
    result = run(*ONE_NIGHT, "--fault", "relay_welded@1+5min", "--json")
    document = json.loads(result.stdout)
    (told,) = document["beside_plant"]
    counted_l, came_l, counted_ah, took_ah, hours = map(
        float, re.findall(r"(?<= )[\d.]+", told)[1:]
    )
    assert came_l > 3 * counted_l, told
    assert took_ah > 3 * counted_ah, told
    assert hours > 3, told
    assert document["nights"][0]["depth_on_plot_mm"] > 20


def test_a_cistern_that_runs_empty_is_told(tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8")
    path = tmp_path / "cistern.toml"
    path.write_text(text.replace("[water]", '[water]\nstored = "200 L"'), encoding="utf-8")
    result = run("week", str(path), "--nights", "1", "--quick", "--json")
    assert result.exit_code == 0, result.output
    document = json.loads(result.stdout)
    assert "the source was empty down to the strainer" in " ".join(document["beside_plant"])
    assert document["ledger"]["water"]["came"]["taken_m3"] == pytest.approx(0.2, abs=0.005)
    assert abs(document["ledger"]["source"]["off_percent"]) < 0.01


def test_a_motor_that_gets_too_hot_is_told(tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8")
    path = tmp_path / "rated.toml"
    path.write_text(text.replace("[pump]", '[pump]\nduty = "continuous"'), encoding="utf-8")
    stiff = ("--fault", "pump_stalled@1+1min:0.6")
    for more, hot in (((), False), (stiff, True)):
        result = run("week", str(path), "--nights", "1", "--quick", "--json", *more)
        assert result.exit_code == 0, result.output
        told = " ".join(json.loads(result.stdout)["beside_plant"])
        assert ("the motor got too hot" in told) == hot


def test_fault_that_is_not_felt_fails() -> None:
    """With the pump long stopped, nothing shows that the strainer blocks."""
    result = run(*ONE_NIGHT, "--fault", "strainer_blocking@1+5h")
    assert isinstance(result.exception, SystemExit)
    assert result.exit_code == 1
    assert "not felt in the plant: strainer_blocking (night 1)" in result.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--fault", "outlet_shot@1"), 'no fault is called "outlet_shot"; nearest: outlet_shut'),
        (("--fault", "outlet_shut"), "NAME@NIGHT+OFFSET"),
        (("--fault", "outlet_shut@3"), "nights 1 to 1 are replayed"),
        (("--fault", "outlet_shut@0"), "night"),
        (("--fault", "outlet_shut@1+20"), "20"),
        (("--csv", "no/such/folder/week.csv"), "no such folder"),
        (("--page", "no/such/folder/week.html"), "no such folder"),
        (("--nights", "0"), "--nights"),
        (("--seed", "-1"), "--seed"),
        (("no-such-file.toml",), "no-such-file.toml"),
    ],
)
def test_usage_mistakes(words: tuple[str, ...], told: str) -> None:
    result = run(*ONE_NIGHT, *words)
    assert result.exit_code == 2, result.output
    assert told in result.stderr
    assert "Traceback" not in result.output


def test_bad_site_lists_every_mistake(tmp_path: Path) -> None:
    site = tmp_path / "plot.toml"
    site.write_text('[water]\ntemperature = "90 C"\n[line]\nbore = "19"\nlenght = "3 m"\n')
    result = run("week", str(site))
    assert result.exit_code == 6
    for told in ("water.temperature", "line.bore", "line.lenght", "length"):
        assert told in result.stderr


def test_site_without_a_safe_limit_is_refused_with_the_reason(tmp_path: Path) -> None:
    """A nozzle so small that normal pressure comes near the rating."""
    demo = Path(sys.modules["rillkeeper"].__path__[0]) / "demo/site.toml"
    text = demo.read_text(encoding="utf-8").replace('"5.5 mm"', '"3 mm"')
    site = tmp_path / "plot.toml"
    site.write_text(text, encoding="utf-8")
    result = run("week", str(site))
    assert result.exit_code == 6, result.output
    assert "too near the pump's rating" in result.stderr


def test_module_runs_as_a_program(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "rillkeeper", "week", "--nights", "1", "--csv", "w.csv"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    assert done.returncode == 0, done.stderr
    assert "csv: w.csv" in done.stderr
    assert (tmp_path / "w.csv").exists()
