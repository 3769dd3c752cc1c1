"""Changed, advised and uncertain sites."""

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from rillkeeper.design.size.advise import advise, meets, options
from rillkeeper.design.size.facts import facts_of
from rillkeeper.design.size.parts import PARTS, PUMPS
from rillkeeper.design.size.verdict import verdict_of
from rillkeeper.design.size.what_if import Axis, spread_of, vary
from rillkeeper.design.size.what_if_tables import advice_tables
from rillkeeper.display_units import Shown
from rillkeeper.errors import SiteError
from rillkeeper.site.change import KEYS, UnknownKey, find_row, parse_value, with_value
from rillkeeper.site.file import DEMO as DEMO_FILE
from rillkeeper.site.file import demo_site
from rillsim.site import InputRange
from rillsim.supply.cable import awg_area_m2

DEMO = demo_site()
CORD = replace(
    DEMO,
    cable=replace(DEMO.cable, length_m=30.0, area_m2=awg_area_m2(16), insulation="105C"),
)


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, ["size", *args], prog_name="rillkeeper")


def test_every_key_of_a_table_can_be_changed() -> None:
    assert "suction.bore" in KEYS
    assert "set.depth" not in KEYS
    changed = with_value(DEMO, "suction.bore", parse_value("suction.bore", "1 in", "metric"))
    assert changed.suction.bore_m == pytest.approx(0.0254)
    assert replace(changed, suction=DEMO.suction) == DEMO
    assert parse_value("pump.pressure_switch", "true", "metric") is True
    assert parse_value("sprinkler.nozzle_count", "2", "metric") == 2
    assert parse_value("battery.capacity", "100 Ah", "metric") == pytest.approx(100.0)


def test_unknown_key_names_the_nearest() -> None:
    with pytest.raises(UnknownKey, match=r"suction\.bore"):
        find_row("suction.bor")


def test_variation_is_the_site_with_that_value() -> None:
    axis = Axis("line.bore", (0.0127, 0.01905))
    found = vary(DEMO, (axis,))
    for one, bore_m in zip(found.tries, axis.values, strict=True):
        assert one.facts == facts_of(replace(DEMO, line=replace(DEMO.line, bore_m=bore_m)))
    throws = [one.facts.throw_m for one in found.tries if one.facts]
    assert throws[0] < throws[1]


def test_grid_runs_the_last_key_fastest() -> None:
    axes = (Axis("line.bore", (0.0127, 0.01905)), Axis("cable.length", (1.0, 30.0)))
    found = vary(DEMO, axes)
    assert [one.values for one in found.tries] == [
        (0.0127, 1.0),
        (0.0127, 30.0),
        (0.01905, 1.0),
        (0.01905, 30.0),
    ]


def test_values_that_exclude_each_other_are_a_dash() -> None:
    found = vary(DEMO, (Axis("suction.length", (1.0, 4.0)),))
    assert found.tries[0].facts is None
    assert "does not reach the water" in found.tries[0].conflict
    assert found.tries[1].facts is not None
    result = run("--vary", "suction.length=1 m,4 m", "--json")
    assert "does not reach" in json.loads(result.stdout)["vary"]["tries"][0]["conflict"]
    assert run("--vary", "suction.length=1 m,4 m").exit_code == 0


def test_vary_on_the_command_line() -> None:
    result = run("--vary", "line.bore=1/2 in,3/4 in", "--json")
    tries = json.loads(result.stdout)["vary"]["tries"]
    assert [one["values"] for one in tries] == [[0.0127], [pytest.approx(0.01905)]]
    assert tries[0]["facts"]["throw_m"] < tries[1]["facts"]["throw_m"]
    out = run("--vary", "line.bore=1/2 in,3/4 in", "--vary", "cable.length=1 m,30 m").stdout
    assert "line.bore \\ cable.length" in out


@pytest.mark.parametrize(
    ("args", "status", "says"),
    [
        (["--vary", "suction.bor=1 in"], 2, "suction.bore"),
        (["--vary", "suction.bore"], 2, "KEY=A,B,C"),
        (["--vary", "set[2].run=9 min"], 2, "this site has 1 set"),
        (["--vary", "set[1].amount=9"], 2, "set[1].depth"),
        (["--vary", "water.lift=1 m,99 m,3 s"], 6, "2 mistakes"),
        (["--vary", "line.bore=1 in", "--vary", "line.bore=2 in"], 2, "twice"),
        (["--range", "water.lift=2 m..1 m"], 2, "lower end"),
        (["--range", "water.lift=1 m"], 2, "two dots"),
        (["--range", "plot.crop=carrot..onion"], 2, "not a quantity"),
        (["--range", "water.lift=1 m..80 m"], 6, "too large"),
    ],
)
def test_mistakes_of_the_command_line(args: list[str], status: int, says: str) -> None:
    result = run(*args)
    assert result.exit_code == status
    assert says in result.stderr


def test_too_many_sites_at_once() -> None:
    many = ",".join(f"{n} m" for n in range(1, 40))
    result = run("--vary", f"line.length={many}", "--vary", f"cable.length={many}")
    assert result.exit_code == 2
    assert "200 at most" in result.stderr


def test_advice_for_a_cord_is_to_bring_the_battery() -> None:
    found = advise(CORD, 2)
    assert found.met
    assert [change.key for change in found.changes] == ["cable.length"]
    assert meets(found.after)
    assert not meets(found.before)
    after = replace(CORD, cable=replace(CORD.cable, length_m=found.changes[0].value))
    assert facts_of(after, 2) == found.after


def test_no_cheaper_single_change_would_do() -> None:
    found = advise(CORD, 2)
    assert found.met
    for part in PARTS:
        for change in options(CORD, part):
            if change.cost < found.changes[0].cost:
                assert not meets(facts_of(with_value(CORD, change.key, change.value), 2))


def test_advice_leaves_a_good_site_alone() -> None:
    found = advise(DEMO, 2)
    assert found.met
    assert found.changes == ()
    assert "Nothing needs to be changed" in run("--advise", "--nights", "2").stdout


def test_advice_says_when_nothing_does() -> None:
    """One sprinkler of this pump cannot cover a quarter of an acre."""
    site = replace(DEMO, plot=replace(DEMO.plot, width_m=32.0, depth_m=32.0))
    found = advise(site)
    assert not found.met
    assert found.after.watering.reach > found.before.watering.reach
    rows = dict(row[:2] for row in advice_tables(found, site)[0].rows)
    assert "the spray reaches only" in rows["still in the way"]


def test_advice_where_no_water_comes_is_about_the_lift() -> None:
    site = replace(DEMO, water=replace(DEMO.water, lift_m=3.0))
    sheet = advice_tables(advise(site), site)[0]
    assert "Set the pump lower than 2.0 m" in sheet.note


def test_another_pump_is_the_last_resort() -> None:
    """A pump of half a class drives no nozzle of the catalogue over this plot."""
    weak = replace(
        PUMPS[0],
        open_flow_m3_s=0.5 * PUMPS[0].open_flow_m3_s,
        open_current_a=2.4,
        max_current_a=4.9,
    )
    site = replace(DEMO, pump=weak, battery=replace(DEMO.battery, capacity_ah=200.0))
    told: list[float] = []
    found = advise(site, 1, told.append)
    assert found.met
    assert found.changes[0].key == "pump.open_flow"
    assert told == sorted(told)
    steps = [after - before for before, after in pairwise([0.0, *told])]
    assert max(steps) < 0.5, "all of the search shows, not its end alone"
    assert told[-1] == 1.0
    assert "pump of" in advice_tables(found, site)[0].rows[0][0]


def test_singles_tell_what_each_part_brings() -> None:
    found = advise(DEMO)
    hoses = [one for one in found.singles if one.change.key == "line.bore"]
    assert hoses
    assert all(one.facts.throw_m > found.before.throw_m for one in hoses)
    batteries = [one for one in found.singles if one.change.key == "battery.capacity"]
    assert all(one.facts.nights > found.before.nights for one in batteries)


def test_american_catalogue_has_american_sizes() -> None:
    sizes = {part.key: options(replace(DEMO, units="us"), part) for part in PARTS}
    gauges = [change.value for change in sizes["cable.section"]]
    assert all(abs(area - 4.0e-6) > 0.1e-6 for area in gauges)


def test_spread_is_seeded_and_ordered() -> None:
    ranges = (InputRange("water.lift", 1.0, 1.9), InputRange("battery.age", 0.0, 0.6))
    found = spread_of(DEMO, ranges, draws=20, seed=3)
    assert found == spread_of(DEMO, ranges, draws=20, seed=3)
    assert found != spread_of(DEMO, ranges, draws=20, seed=4)
    for band in found.bands:
        assert band.low <= band.middle <= band.high
    assert found.works == 1.0


def test_band_of_a_nozzle_is_that_of_its_ends() -> None:
    """Throw falls steadily with this nozzle's bore, so a wide band lies within its ends."""
    found = spread_of(DEMO, (InputRange("sprinkler.nozzle_bore", 4.5e-3, 6.5e-3),), draws=60)
    ends = [
        facts_of(with_value(DEMO, "sprinkler.nozzle_bore", bore)).throw_m
        for bore in (6.5e-3, 4.5e-3)
    ]
    throw = next(band for band in found.bands if band.name == "throw")
    assert ends[0] < throw.low < throw.high < ends[1]
    assert throw.high - throw.low > 0.6 * (ends[1] - ends[0])


def test_verdict_says_how_sure_it_is() -> None:
    """A dry lift of 2 m: with a lift of 1.5 to 2.5 m about half of the draws cannot prime."""
    found = spread_of(DEMO, (InputRange("water.lift", 1.5, 2.5),), draws=100)
    assert 0.35 < found.works < 0.65
    out = run("--range", "water.lift=1.5 m..2.5 m", "--draws", "20").stdout
    assert "of 20 draws from its ranges" in " ".join(out.split())


def test_ranges_of_the_file_give_a_band_by_themselves(tmp_path: Path) -> None:
    text = DEMO_FILE.read_text(encoding="utf-8")
    path = tmp_path / "plot.toml"
    path.write_text(text.replace('lift = "1.4 m"', 'lift = "1.5 m to 2.5 m"'), encoding="utf-8")
    out = " ".join(run(str(path), "--draws", "20").stdout.split())
    assert "of 20 draws from its ranges" in out
    assert "water.lift 1.5 m to 2.5 m" in out
    spread = json.loads(run(str(path), "--draws", "20", "--json").stdout)["spread"]
    same = spread_of(DEMO, (InputRange("water.lift", 1.5, 2.5),), draws=20)
    assert spread["works"] == same.works
    over = json.loads(
        run(str(path), "--range", "water.lift=1 m..1.2 m", "--draws", "20", "--json").stdout
    )
    assert over["spread"]["ranges"] == [{"key": "water.lift", "low": 1.0, "high": 1.2}]
    assert over["spread"]["works"] == 1.0
    told = run(str(path), "--range", "water.lift=1 m to 1.2 m", "--draws", "20", "--json").stdout
    assert json.loads(told) == over


def test_sets_can_be_varied() -> None:
    tries = json.loads(run("--vary", "set[1].run=20 min,40 min", "--json").stdout)["vary"]["tries"]
    assert [one["facts"]["watering"]["set_s"] for one in tries] == [1200.0, 2400.0]
    assert tries[0]["facts"]["nights"] > tries[1]["facts"]["nights"]
    depths = vary(DEMO, (Axis("set[1].depth", (3.0, 6.0)),)).tries
    assert depths[1].facts == facts_of(DEMO)
    assert "set[1].depth" in run("--vary", "set[1].depth=3 mm,6 mm").stdout


def test_draws_that_exclude_each_other_count_as_failed() -> None:
    found = spread_of(DEMO, (InputRange("suction.length", 0.4, 2.4),), draws=40)
    assert 0 < found.impossible < 40
    assert round(found.works * 40) <= 40 - found.impossible


def test_bad_values_come_all_at_once() -> None:
    from rillkeeper.site.change import parse_values

    with pytest.raises(SiteError) as caught:
        parse_values("--vary", "water.lift", ["1 m", "99 m", "2 bar"], DEMO)
    assert len(caught.value.mistakes) == 2


def test_what_is_fixed_is_left_alone() -> None:
    """A battery 30 m off: the cable cannot be cut, so nothing is said of cutting it."""
    keys = {one.change.key for one in advise(CORD).singles}
    assert "cable.length" in keys
    held = replace(CORD, fixed="cable.length, pump.open_flow, battery.capacity")
    found = advise(held)
    changes = {change.key for change in (*(one.change for one in found.singles), *found.changes)}
    assert changes
    assert not changes & {"cable.length", "pump.open_flow", "battery.capacity"}


def test_each_single_change_says_whether_it_is_enough() -> None:
    found = advise(CORD)
    singles = advice_tables(found, CORD)[1]
    assert singles.headings[-1] == "enough"
    said = {row[0]: row[-1] for row in singles.rows}
    assert said["as it is"] == "no"
    for one, row in zip(found.singles, singles.rows[1:], strict=True):
        assert row[-1] == ("yes" if meets(one.facts) else "no")


def test_what_is_not_possible_is_told_below_the_table() -> None:
    result = run("--vary", "suction.length=0.5 m,4 m")
    row = next(line for line in result.stdout.splitlines() if line.startswith("0.5 m"))
    assert row.rstrip().endswith(" not")
    assert "0.5 m is not possible: suction.length: " in " ".join(result.stdout.split())


def test_a_set_that_is_split_is_not_told_to_be_split() -> None:
    for runs, word in ((1, "Split the set into runs"), (2, "It is split into runs already")):
        site = replace(DEMO, sets=tuple(replace(one, runs=runs) for one in DEMO.sets))
        site = replace(site, plot=replace(site.plot, soil="clay"))
        (soil,) = [a for a in verdict_of(facts_of(site), Shown()).answers if a.key == "soil"]
        assert soil.detail.startswith(word)
