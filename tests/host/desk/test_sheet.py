"""A file on the desk: its handles, what is changed, what is saved, and its mistakes."""

import tomllib
from dataclasses import replace

import pytest

from rillkeeper.desk.handles import CHARGE, KEYS, handles_of
from rillkeeper.desk.sheet import Sheet, changes_of, saved
from rillkeeper.errors import RillkeeperError
from rillkeeper.site.change import find_row, parse_value, value_of
from rillkeeper.site.file import demo_site, read_site
from tests.host.desk.serving import DEMO_TEXT, Open

SHEET = Sheet("plot.toml", DEMO_TEXT)
US_TEXT = DEMO_TEXT.replace('units = "metric"', 'units = "us"')


@pytest.mark.parametrize("text", [DEMO_TEXT, US_TEXT], ids=["metric", "us"])
def test_every_handle_reads_back_what_it_shows(text: str) -> None:
    """What the page sends for a handle that nobody has moved is the site as it is."""
    sheet = Sheet("plot.toml", text)
    told = handles_of(sheet.site)
    assert [one["key"] for one in told] == [*KEYS, CHARGE]
    for one in told:
        if one["key"] == CHARGE:
            continue
        key = str(one["key"])
        shown = one["value"] if one["kind"] == "choice" else f"{one['value']} {one['unit']}"
        changed = sheet.changed(changes_of({key: shown})).site
        assert changed is not None, key
        value, was = value_of(changed, key), value_of(sheet.site, key)
        assert value == (was if isinstance(was, str) else pytest.approx(was, rel=2e-3)), key


@pytest.mark.parametrize("text", [DEMO_TEXT, US_TEXT], ids=["metric", "us"])
def test_every_place_of_a_handle_is_allowed(text: str) -> None:
    sheet = Sheet("plot.toml", text)
    for one in handles_of(sheet.site):
        if one["kind"] == "choice":
            texts = [value for value, _ in one["choices"]]  # type: ignore[attr-defined]
            assert one["value"] in texts
            assert len(set(texts)) == len(texts)
        else:
            assert one["min"] <= one["value"] <= one["max"]  # type: ignore[operator]
            texts = [f"{one[end]} {one['unit']}" for end in ("min", "max")]
        for value in texts:
            if one["key"] != CHARGE:
                parse_value(str(one["key"]), value, sheet.site.units)


def test_sizes_as_they_are_sold_by_the_inch_are_written_so() -> None:
    bores = next(one for one in handles_of(SHEET.site) if one["key"] == "suction.bore")
    assert bores["value"] == "3/4 in"
    assert ("1/2 in", "1/2 in (12.7 mm)") in bores["choices"]  # type: ignore[operator]


def test_what_is_saved_reads_as_it_was_drawn_and_keeps_its_comments() -> None:
    changes = changes_of(
        {
            "line.length": "18 m",
            "suction.bore": "1 in",
            "sprinkler.least_pressure": "1.5 bar",
            "set[1].runs": "3",
            "board.second_relay": "true",
            "solar.power": "20 W",
            CHARGE: "60 %",
        }
    )
    text = saved(SHEET, changes)
    assert read_site(text) == SHEET.changed(changes).site
    for number, (before, after) in enumerate(
        zip(DEMO_TEXT.splitlines(), text.splitlines(), strict=False), start=1
    ):
        if before.startswith("#"):
            assert before in text, number
        if before.startswith("[water]"):
            assert after == before
    lost = [line for line in DEMO_TEXT.splitlines() if line and line not in text.splitlines()]
    assert lost == ['bore = "3/4 in"', 'length = "30 m"', "runs = 2"]
    assert tomllib.loads(text)["solar"] == {"power": "20 W"}


def test_nothing_changed_is_saved_as_it_was() -> None:
    assert saved(SHEET, ()) == DEMO_TEXT


def test_a_measured_battery_grows_in_the_file_as_on_the_page() -> None:
    text = DEMO_TEXT.replace('capacity = "80 Ah"', 'capacity = "80 Ah"\nmeasured = "60 Ah"')
    sheet = Sheet("plot.toml", text)
    changes = changes_of({"battery.capacity": "100 Ah"})
    found = read_site(saved(sheet, changes))
    assert found.battery.measured_ah == pytest.approx(75.0)
    assert found == sheet.changed(changes).site


def test_a_range_that_is_moved_is_no_range_any_more() -> None:
    text = DEMO_TEXT.replace('lift = "1.4 m"', 'lift = "1.2 m to 1.8 m"')
    sheet = Sheet("plot.toml", text)
    assert sheet.site.ranges
    changed = sheet.changed(changes_of({"water.lift": "1.6 m"})).site
    assert changed is not None
    assert changed == replace(demo_site(), water=changed.water)
    assert changed.ranges == ()


@pytest.mark.parametrize(
    ("given", "path"),
    [
        ({"line.length": "18"}, "line.length"),
        ({"line.length": "-5 m"}, "line.length"),
        ({"battery.chemistry": "lead"}, "battery.chemistry"),
        ({"water.lift": "5 m"}, "suction.length"),
        ({CHARGE: "5 %"}, CHARGE),
        ({CHARGE: "nan %"}, CHARGE),
    ],
)
def test_a_mistake_stands_at_its_key(desk: Open, given: dict[str, str], path: str) -> None:
    found = desk.ask("answer", id=desk.sheet(), changes=given).table["mistakes"]
    assert [one["path"] for one in found] == [path]
    assert found[0]["problem"]


@pytest.mark.parametrize("key", ["line.lenght", "set[2].run", "x", "__class__", "line", "name"])
def test_a_key_that_there_is_not_is_refused(desk: Open, key: str) -> None:
    for name in ("answer", "save", "night"):
        what = {"fault": "none"} if name == "night" else {}
        assert desk.ask(name, id=desk.sheet(), changes={key: "1 m"}, **what).status == 400


WRONG = DEMO_TEXT.replace('lift = "1.4 m"', "lift = 1.4").replace(
    'bore = "3/4 in"', 'bore = "3 m"'
)
WRONG = WRONG.replace('frost = "fitted"\n', "").replace("[home]", "[hom]")


def test_all_mistakes_of_a_file_come_with_field_and_line(desk: Open) -> None:
    found = desk.ask("open", name="wrong.toml", text=WRONG).table
    told = {one["path"]: one for one in found["mistakes"]}
    assert set(told) == {"water.lift", "suction.bore", "board.frost"}
    assert all(one["field"] for one in told.values())
    assert told["water.lift"]["line"] == WRONG.splitlines().index("lift = 1.4") + 1
    assert told["suction.bore"]["read"] == "3 m"


def test_they_are_put_right_at_their_fields(desk: Open) -> None:
    right = {"water.lift": "1.4 m", "suction.bore": "3/4 in", "board.frost": "fitted"}
    part = desk.ask("open", name="w.toml", text=WRONG, changes={"water.lift": "1.4 m"}).table
    assert {one["path"] for one in part["mistakes"]} == {"suction.bore", "board.frost"}
    found = desk.ask("open", name="w.toml", text=WRONG, changes=right).table
    assert found["mistakes"] == []
    assert read_site(found["text"]) == demo_site()


def test_a_file_that_is_no_toml_has_a_mistake_without_a_field(desk: Open) -> None:
    (one,) = desk.ask("open", name="x.toml", text="[water\n").table["mistakes"]
    assert not one["field"]
    assert "not TOML" in one["problem"]


def test_changes_are_texts() -> None:
    with pytest.raises(RillkeeperError, match="not a text"):
        changes_of({"line.length": 5})
    with pytest.raises(RillkeeperError, match="not a text"):
        changes_of({"line.length": "5 m\n[x]"})
    for key in KEYS:
        assert find_row(key)
