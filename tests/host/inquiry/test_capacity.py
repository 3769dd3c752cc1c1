"""A used battery's capacity: against published discharges, the plant's battery, and a replay."""

import csv
import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from rillkeeper.commands import capacity as capacity_command
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.nights import load_of, nights_on_a_charge, size_for
from rillkeeper.errors import RillkeeperError
from rillkeeper.inquiry.capacity import from_nights, from_rests, steps, to_the_end
from rillkeeper.inquiry.capacity.measure import END_V, Capacity, NothingMeasured
from rillkeeper.inquiry.capacity.site_line import with_measured
from rillkeeper.morning.nights_left.candidates import candidates
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.site.change import with_value
from rillkeeper.site.file import DEMO, demo_site, load_site, read_site
from rillkeeper.site.template import commented_template
from rillsim.replay import replay
from rillsim.site import BatterySpec
from rillsim.supply.battery import Battery
from rillsim.supply.charger import charge
from rillsim.supply.chemistry import AGM, CHEMISTRY, FLOODED
from tests.host.inquiry.learn_cases import thought

DATA = Path(__file__).parents[2] / "published" / "data"
HOUR_S = 3600.0


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, ["capacity", *args], prog_name="rillkeeper")


@pytest.mark.published
@pytest.mark.parametrize(
    ("current_a", "hours"), [(5.0, 20.0), (8.0, 11.3785), (10.0, 8.7055), (17.0, 4.6053)]
)
def test_peukerts_law_gives_the_rating_back(current_a: float, hours: float) -> None:
    """Peukert (1897), t = H (C / I H)^k: 100 Ah over 20 h, k = 1.2, a usual flooded battery."""
    assert hours == pytest.approx(20.0 * (100.0 / (current_a * 20.0)) ** 1.2, rel=1e-4)
    found = to_the_end(FLOODED, current_a, hours, 25.0)
    assert found.ah == pytest.approx(100.0, rel=0.03)


@pytest.mark.published
@pytest.mark.parametrize("rate", ["C/20", "C/10", "C/5", "C/3", "C/2"])
def test_a_sealed_battery_of_others(rate: str) -> None:
    """PyBaMM 26.10.1.1, set Sulzer2019, model Full: discharges to 10.5 V; 21.76 Ah at C/20."""
    with (DATA / "pybamm_summary.csv").open(newline="") as file:
        row = next(
            row for row in csv.DictReader(file) if (row["model"], row["rate"]) == ("Full", rate)
        )
    current_a, gave_ah = float(row["current_A"]), float(row["Ah_to_10.5V"])
    found = to_the_end(AGM, current_a, gave_ah / current_a, 25.0)
    assert found.ah == pytest.approx(21.76, rel=0.04)


@pytest.mark.published
def test_cold_is_made_good() -> None:
    """IEEE Std 485 table 1 (from memory): 1.19 times the rating is needed at 10 C."""
    warm, cold = (to_the_end(FLOODED, 5.0, 10.0, at).ah for at in (25.0, 10.0))
    assert cold / warm == pytest.approx(1.19, rel=1e-6)


# The plant's battery: real capacity known here, and by nobody who reckons.


def used_battery(chemistry: str, holds_ah: float, warmth_c: float = 18.0) -> Battery:
    """One that is labelled 80 Ah, charged full at home and left overnight."""
    spec = BatterySpec(
        chemistry=chemistry, capacity_ah=80.0, measured_ah=holds_ah, temperature_c=warmth_c
    )
    battery = Battery(spec, 0.4)
    charge(battery, 10.0, 24 * HOUR_S)
    battery.step(0.0, 12 * HOUR_S)
    return battery


def read_v(battery: Battery) -> float:
    """As a meter with two decimals shows it, without a load."""
    return round(battery.emf_v, 2)


@pytest.mark.parametrize("holds_ah", [36.0, 52.0, 64.0, 80.0])
@pytest.mark.parametrize("chemistry", ["flooded", "agm"])
def test_between_rests_the_plants_capacity_is_found(chemistry: str, holds_ah: float) -> None:
    battery = used_battery(chemistry, holds_ah)
    first_v = read_v(battery)
    hours = 0.4 * holds_ah / 5.0
    battery.step(5.0, hours * HOUR_S)
    battery.step(0.0, 12 * HOUR_S)
    found = from_rests(CHEMISTRY[chemistry], first_v, read_v(battery), 5.0 * hours)
    assert found.ah == pytest.approx(holds_ah, rel=0.1)
    assert abs(found.ah - holds_ah) < 2.0 * found.spread_ah < 0.6 * found.ah


@pytest.mark.parametrize("warmth_c", [8.0, 18.0, 25.0])
@pytest.mark.parametrize("holds_ah", [36.0, 52.0, 80.0])
@pytest.mark.parametrize("chemistry", ["flooded", "agm", "lfp"])
def test_to_the_end_the_plants_capacity_is_found(
    chemistry: str, holds_ah: float, warmth_c: float
) -> None:
    battery = used_battery(chemistry, holds_ah, warmth_c)
    hours = 0.0
    while battery.terminal_v(5.0) > END_V[chemistry] and hours < 40.0:
        battery.step(5.0, 360.0)
        hours += 0.1
    found = to_the_end(CHEMISTRY[chemistry], 5.0, hours, warmth_c)
    assert abs(found.ah - holds_ah) < 2.0 * found.spread_ah
    assert found.ah == pytest.approx(holds_ah, rel=0.1)


def test_the_pumps_own_nights_find_it() -> None:
    """The owner believes the label; the plant's battery holds 50 Ah of it."""
    site = replace(
        thought(),
        sets=(replace(thought().sets[0], unit="minutes", amount=22.0, runs=1, soak_s=0),),
    )
    real = replace(site, battery=replace(site.battery, measured_ah=50.0))
    done = replay(real, settings_of(site), nights=5, seed=2, fast=True)
    found = from_nights(site, nights_of(read_log(done.log), site.board).runs)
    assert "4 rested voltages on 1 charge" in found.how
    assert abs(found.ah - 50.0) < 2.0 * found.spread_ah
    assert found.ah == pytest.approx(50.0, rel=0.15)
    assert found.ah + found.spread_ah < 80.0, "it is not the label's battery"


def test_what_tells_nothing_is_refused() -> None:
    with pytest.raises(NothingMeasured, match="not below"):
        from_rests(FLOODED, 12.6, 12.6, 20.0)
    with pytest.raises(NothingMeasured, match="says too little"):
        from_rests(FLOODED, 12.64, 12.61, 3.0)
    with pytest.raises(NothingMeasured, match="beyond its table"):
        from_rests(FLOODED, 12.64, 11.2, 60.0)
    with pytest.raises(NothingMeasured, match="test it to the end"):
        from_rests(CHEMISTRY["lfp"], 13.4, 13.22, 40.0)
    with pytest.raises(NothingMeasured, match="choose a load"):
        to_the_end(FLOODED, 60.0, 0.5, 20.0)
    site = demo_site()
    for changed, why in (
        (replace(site, board=replace(site.board, battery_fitted=False)), "does not read"),
        (replace(site, solar=replace(site.solar, power_w=20.0)), "panel"),
        (site, "three nights or more"),
    ):
        with pytest.raises(NothingMeasured, match=why):
            from_nights(changed, ())


def test_the_range_stays_within_what_a_site_file_takes() -> None:
    assert Capacity(52.0, 4.0, "").ends_ah(80.0) == (44.0, 60.0)
    assert Capacity(79.0, 4.0, "").ends_ah(80.0) == (71.0, 80.0)
    assert Capacity(20.0, 4.0, "").ends_ah(80.0) == (32.0, 32.0)


# The command, and the site file.


def test_the_steps_carry_this_batterys_numbers(tmp_path: Path) -> None:
    said = run(str(DEMO)).stdout
    assert "about 65 W in all" in said  # 80 Ah in 15 h at 12.3 V.
    assert said.index("between two rests") < said.index("to the end") < said.index("pump itself")
    assert "goggles" in said
    lithium = replace(demo_site(), battery=replace(demo_site().battery, chemistry="lfp"))
    assert [heading for heading, _ in steps(lithium, "x.toml")] == ["At home, to the end"]


def test_a_test_is_kept_in_the_site_file_and_size_takes_it(tmp_path: Path) -> None:
    path = tmp_path / "plot.toml"
    path.write_bytes(DEMO.read_bytes())
    result = run(str(path), "--load", "5.2 A", "--lasted", "9.5 h", "--warmth", "18 C", "--write")
    assert result.exit_code == 0, result.output
    assert 'measured = "53.1 Ah to 64.9 Ah"' in result.stdout
    assert (tmp_path / "plot.toml.bak").read_bytes() == DEMO.read_bytes()
    before, after = DEMO.read_text("utf-8").splitlines(), path.read_text("utf-8").splitlines()
    assert [line for line in after if line not in before] == ['measured = "53.1 Ah to 64.9 Ah"']
    site = load_site(path)
    assert site.battery.measured_ah == pytest.approx(59.0)
    sized = CliRunner().invoke(cli, ["size", str(path), "--json", "--draws", "10"])
    spread = json.loads(sized.stdout)["spread"]
    assert "battery.measured" in json.dumps(spread)
    nights = json.loads(sized.stdout)["facts"]["nights"]
    whole = CliRunner().invoke(cli, ["size", str(DEMO), "--json"])
    # 59 of 78 Ah (an age of 20 % has lost 4 % of 80): about so much of the nights.
    assert nights / json.loads(whole.stdout)["facts"]["nights"] == pytest.approx(59 / 77, rel=0.1)


def test_only_the_one_line_is_changed() -> None:
    said = commented_template().replace('"?"', '"fitted"')
    changed = with_measured(said, "60 Ah", "x")
    assert changed.splitlines() == [
        'measured = "60 Ah"' if line.startswith("#measured") else line
        for line in said.splitlines()
    ]
    again = with_measured(changed, "50 Ah to 70 Ah", "x")
    assert read_site(again).battery.measured_ah == 60.0
    assert len(again.splitlines()) == len(changed.splitlines())
    ends = with_measured(said.replace("\n", "\r\n"), "60 Ah", "x")
    assert ends.count("\r\n") == ends.count("\n")
    bare = "\n".join(line for line in said.splitlines() if not line.startswith("[battery]"))
    bare = bare.replace("[solar]", "")
    assert read_site(with_measured(bare, "60 Ah", "x")).battery.measured_ah == 60.0
    with pytest.raises(RillkeeperError, match="by hand"):
        with_measured('battery = { capacity = "80 Ah" }\n' + bare, "60 Ah", "x")


@pytest.mark.parametrize(
    ("args", "text"),
    [
        (("--load", "5 A"), "--lasted is missing"),
        (("--lasted", "5 h"), "--load is missing"),
        (("--drawn", "20 Ah"), "--drawn goes with --rested"),
        (("--drawn", "20 Ah", "--load", "5 A"), "in place of"),
        (("--load", "5", "--lasted", "5 h"), '--load "5"'),
        (("--load", "0 A", "--lasted", "5 h"), "more than nothing"),
        (("--write",), "no readings"),
        (("--nights", "--load", "5 A"), "takes no readings"),
    ],
)
def test_what_makes_no_sense_is_one_line(args: tuple[str, ...], text: str) -> None:
    result = run(str(DEMO), *args)
    assert result.exit_code == 2
    assert text in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_a_measured_battery_can_be_sized_and_doubted() -> None:
    """A larger rating is a larger battery, though the one at hand was measured."""
    site = demo_site()
    used = replace(site, battery=replace(site.battery, measured_ah=48.0))
    work = WorkingSite(used)
    wanted_ah = size_for(used.battery, load_of(work), work.discharge, 3.0)
    assert wanted_ah
    larger = used.battery.rated(wanted_ah)
    assert nights_on_a_charge(larger, load_of(work), work.discharge)[0] == pytest.approx(
        3.0, abs=0.05
    )
    assert larger.lived == pytest.approx(used.battery.lived)
    assert with_value(used, "battery.capacity", 100.0).battery.measured_ah == pytest.approx(60.0)
    sizes = {round(one.battery.capacity_ah(20.0)) for one in candidates(used.battery, 1.0, True)}
    assert max(sizes) - min(sizes) > 10


def test_json_and_a_worn_out_battery(tmp_path: Path) -> None:
    args = ("--load", "5 A", "--lasted", "5 h", "--warmth", "25 C")
    document = json.loads(run(str(DEMO), *args, "--json").stdout)
    assert document["capacity_ah"] == pytest.approx(32, abs=1)
    clock = run(str(DEMO), "--load", "5 A", "--lasted", "5:00", "--warmth", "25 C", "--json")
    assert json.loads(clock.stdout) == document, "hours as on a clock"
    assert document["site_file"] is None or document["site_file"].startswith("32 Ah to ")
    worn = run(str(DEMO), "--load", "5 A", "--lasted", "3 h")
    assert "worn out" in worn.stdout
    assert "measured =" not in worn.stdout
    path = tmp_path / "plot.toml"
    path.write_bytes(DEMO.read_bytes())
    kept = run(str(path), "--load", "5 A", "--lasted", "3 h", "--write")
    assert kept.exit_code == 1
    assert path.read_bytes() == DEMO.read_bytes()


def test_at_a_terminal_it_asks_until_it_has_a_quantity(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = SimpleNamespace(stdin=SimpleNamespace(isatty=lambda: True))
    monkeypatch.setattr(capacity_command, "sys", terminal)

    def talk(*typed: str) -> Result:
        text = "".join(f"{line}\n" for line in typed)
        return CliRunner().invoke(cli, ["capacity", str(DEMO)], input=text)

    end = talk("end", "5.2", "5.2 A", "9 h 30 min", "18 C").stdout
    assert 'Amperes of the lamp, mean of both readings "5.2"' in end, (
        "asked again, with the reason"
    )
    assert 'measured = "53.1 Ah to 64.9 Ah"' in end
    rests = talk("rests", "5.2 A", "6:00", "12.64 V", "12.31 V").stdout
    assert 'measured = "61 Ah to 80 Ah"' in rests
    assert "measured =" not in talk("none").stdout
