"""Site files: defaults, every mistake at once, and files that are no site at all."""

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rillkeeper.errors import Mistake, RillkeeperError, SiteError
from rillkeeper.site.file import load_site, read_site
from rillkeeper.site.keys import BOARD as BOARD_TABLE
from rillkeeper.site.keys import HEADING, SHEET_ROW, TABLES
from rillkeeper.site.schema import Row, Table
from rillkeeper.site.value import ValueProblem, read_value
from rillsim.site import Site

BOARD = """
[board]
battery = "fitted"
pressure = "fitted"
load_sense = "fitted"
rain = "fitted"
button = "fitted"
frost = "fitted"
current = "not fitted"
"""

ALL_ROWS = [(table, row) for table in (HEADING, *TABLES) for row in table.rows]


def mistakes_of(text: str, board: str = BOARD) -> dict[str, str]:
    """Path -> the whole line, of each mistake."""
    with pytest.raises(SiteError) as caught:
        read_site(text + board)
    return {mistake.path: str(mistake) for mistake in caught.value.mistakes}


def test_the_board_alone_is_a_site_of_defaults() -> None:
    assert read_site(BOARD) == Site()


@pytest.mark.parametrize(
    ("written", "fitted"),
    [
        ("true", True),
        ("false", False),
        ('"fitted"', True),
        ('"not fitted"', False),
        ('"no"', False),
    ],
)
def test_a_flow_meter_is_said_as_any_fitting(written: str, fitted: bool) -> None:
    site = read_site(f"{BOARD}flow_meter = {written}\nflow_pulses = 396\n")
    assert (site.board.flow_fitted, site.board.flow_pulses_per_l) == (fitted, 396.0)


def test_a_flow_meter_that_cannot_be() -> None:
    found = mistakes_of("", f'{BOARD}flow_meter = "perhaps"\nflow_pulses = 0.2\n')
    assert found["board.flow_meter"].endswith("a text; allowed: true or false"), found
    assert "0.2: too small to be true; allowed: 1 to 20000" in found["board.flow_pulses"]
    found = mistakes_of("", f'{BOARD}flow_pulses = "450 per litre"\n')
    assert "wrong type, a text; allowed: a number, 1 to 20000" in found["board.flow_pulses"]


def test_each_field_of_a_site_has_one_row() -> None:
    for table in (HEADING, *TABLES):
        fields = {field.name for field in dataclasses.fields(table.record)}
        if table is HEADING:
            fields = {"name", "units", "fixed"}
        # The pump's table is a list of its own in the file.
        fields -= {"points"}
        rows = {row.field for row in table.rows}
        assert rows | ({"unit"} if table.one_of else set()) == fields, table.name
        keys = [row.key for row in table.rows]
        assert len(keys) == len(set(keys)), table.name
    named = {table.field for table in TABLES if table is not SHEET_ROW}
    assert named | {"name", "units", "fixed", "ranges"} == {
        field.name for field in dataclasses.fields(Site)
    }


@pytest.mark.parametrize(
    ("table", "row"), ALL_ROWS, ids=[f"{table.name}.{row.key}" for table, row in ALL_ROWS]
)
def test_row_has_a_range_that_holds_its_default(table: Table, row: Row) -> None:
    assert row.says.endswith(".")
    if row.low:
        assert row.limit(row.low) < row.limit(row.high)
    default = table.default(row)
    if default is dataclasses.MISSING or default == "" or row.field == "amount":
        return
    shown: object = default if row.kind in ("whole", "number", "yes or no") else None
    for system in ("metric", "us"):
        read = read_value(row, row.show(default, system, 17) if shown is None else shown, system)
        assert read == (pytest.approx(default, rel=1e-14) if row.in_units else default)


@pytest.mark.parametrize(
    ("table", "row"),
    [(table, row) for table, row in ALL_ROWS if row.low],
    ids=[f"{table.name}.{row.key}" for table, row in ALL_ROWS if row.low],
)
def test_the_ends_of_each_range_are_in_and_past_them_is_out(table: Table, row: Row) -> None:
    def text(value: float) -> object:
        if row.kind == "whole":
            return round(value)
        return row.show(value, "metric", 17) if row.in_units else value

    low, high = row.limit(row.low), row.limit(row.high)
    step = 1.0 if row.kind == "whole" else (high - low) * 1e-6
    for inside in (low + step, high - step):
        assert low <= read_value(row, text(inside), "metric") <= high
    for outside in (low - step, high + step):
        with pytest.raises(ValueProblem):
            read_value(row, text(outside), "metric")


def test_metric_and_us_files_give_the_same_site() -> None:
    us = '[line]\nlength = "100 ft"\nbore = "5/8 in"\n[cable]\nsection = "12 AWG"\n'
    metric = '[line]\nlength = "30.48 m"\nbore = "15.875 mm"\n[cable]\nsection = "3.3088 mm2"\n'
    first, second = read_site(us + BOARD), read_site(metric + BOARD)
    assert first.line == second.line
    assert first.cable.area_m2 == pytest.approx(second.cable.area_m2, rel=1e-5)


@pytest.mark.parametrize(
    ("key", "unit", "amount"),
    [
        ('run = "1 h"', "minutes", 60.0),
        ('depth = "1/4 in"', "depth", 6.35),
        ('volume = "0.5 m3"', "volume", 500.0),
    ],
)
def test_a_set_by_minutes_depth_or_volume(key: str, unit: str, amount: float) -> None:
    site = read_site(f"[[set]]\n{key}\n" + BOARD)
    assert site.sets[0].unit == unit
    assert site.sets[0].amount == pytest.approx(amount, rel=1e-14)


ONE_MISTAKE = [
    ("nam = 'x'", "nam", "nearest: name"),
    ("units = 'imperial'", "units", '"metric", "us"'),
    ("name = ''", "name", "a text of 1 to 80"),
    ("name = 'a\\u001bb'".replace("'", '"'), "name", "not a name"),
    ("[suctoin]\nbore = '19 mm'", "suctoin", "unknown table; allowed: water, suction"),
    ("water = 5", "water", "write [water]"),
    ("set = 5", "set", "write [[set]]"),
    ("[set]\nrun = '5 min'", "set", "write [[set]]"),
    ("set = []", "set", "at least one"),
    ("[[line]]\nlength = '3 m'", "line", "write [line]"),
    ("[line]\nlenght = '3 m'", "line.lenght", "nearest: length"),
    ("[line]\nnozzle_bore = '3 mm'", "line.nozzle_bore", "nearest: sprinkler.nozzle_bore"),
    ("[line]\nlength = 30", "line.length", "the unit is missing"),
    ("[line]\nlength = '30'", "line.length", "the unit is missing"),
    ("[line]\nlength = '30 psi'", "line.length", "a pressure, where a length belongs"),
    ("[line]\nlength = '30 mters'", "line.length", 'no unit "mters"'),
    ("[line]\nlength = '-30 m'", "line.length", "negative; allowed: 0.5 m to 500 m"),
    ("[line]\nlength = '30 km'", "line.length", "too large to be true"),
    ("[line]\nbore = '15 um'", "line.bore", "no unit"),
    ("[line]\nlength = true", "line.length", "wrong type, true or false"),
    ("[line]\nlength = ['30 m']", "line.length", "wrong type, a list"),
    ("[line]\nfittings_k = '2'", "line.fittings_k", "a number, 0 to 200"),
    ("[line]\nfittings_k = nan", "line.fittings_k", "not a number"),
    ("[line]\nfittings_k = inf", "line.fittings_k", "too large"),
    ("[sprinkler]\nnozzle_count = 1.5", "sprinkler.nozzle_count", "a whole number, 1 to 20"),
    ("[sprinkler]\nnozzle_bore = '16 mm'", "sprinkler.nozzle_bore", "wider than the hose"),
    ("[sprinkler]\nx = '50 m'", "sprinkler.x", "far off the plot"),
    ("[sprinkler]\ny = '-3 m'", "sprinkler.y", "far off the plot"),
    ("[pump]\npressure_switch = 1", "pump.pressure_switch", "true or false"),
    ("[cable]\nfuse = '5 A'", "cable.fuse", "would blow"),
    ("[cable]\nsection = '3 m'", "cable.section", "a length, where a wire section belongs"),
    ("[suction]\nfoot_valve = 'popet'", "suction.foot_valve", "nearest: poppet"),
    ("[suction]\nlength = '1 m'", "suction.length", "does not reach the water"),
    ("[water]\nroof = '20 m2'", "water.stored", "must hold something"),
    ("[water]\nstored = '2 m3'\nfull = '1 m3'", "water.full", "less than is stored"),
    ("[line]\nlength = '6 m'\nrise = '8 m'", "line.length", "does not reach the nozzle"),
    ("[water]\nlift = '2.5 m'\n[suction]\nfoot_valve = 'none'", "water.lift", "cannot prime"),
    ("[plot]\nsoil = 'lome'", "plot.soil", "nearest: loam"),
    ("[plot]\ncrop = 'letuce'", "plot.crop", "nearest: lettuce"),
    ("[weather]\nt_min = '30 C'", "weather.t_min", "warmer than t_max"),
    ("[weather]\nhumidity_max = '30 %'", "weather.humidity_min", "above humidity_max"),
    ("[battery]\ncapacity = '80 V'", "battery.capacity", "a voltage, where a charge belongs"),
    ("[[set]]\nstart = '25:00'", "set[1].start", "not a time of day"),
    ("[[set]]\nstart = 22:30:05", "set[1].start", "wrong type, a date or time"),
    ("[[set]]\nrun = '5 min'\ndepth = '5 mm'", "set[1]", "they exclude each other"),
    ("[[set]]\nruns = 3", "set[1].runs", "without a pause"),
    ("[[set]]\nsoak = '5 min'", "set[1].soak", "a pause with nothing after it"),
    ("[[set]]\n[[set]]", "set[2].start", "the same start as set[1]"),
    ("[[set]]\n[[set]]\nstart = '01:00'", "set[2].start", "set[1] may still run then"),
    ("[[set]]\nstart = '00:30'\n[[set]]", "set[1].start", "set[2] may still run then"),
    ("[[battery_trip]]", "battery_trip[1].after_night", "must be said"),
    (
        "[[battery_trip]]\nafter_night = 2\nback_at = '08:00'",
        "battery_trip[1].back_at",
        "back before it left",
    ),
    (
        "[[battery_trip]]\nafter_night = 2\nback_at = '22:30'",
        "battery_trip[1].back_at",
        "away when set[1] starts",
    ),
    (
        "[[set]]\nstart = '08:30'\nwindow = '0 s'\n[[battery_trip]]\nafter_night = 2",
        "battery_trip[1].away_from",
        "leaves while set[1] runs",
    ),
    (
        "[[battery_trip]]\nafter_night = 2\n[[battery_trip]]\nafter_night = 2",
        "battery_trip[2].after_night",
        "the same night",
    ),
    ("[[fault]]\nname = 'rain'\nnight = 1", "fault[1].offset", "must be said"),
    (
        "[[fault]]\nname = 'outlet_shutt'\nnight = 1\noffset = '0 s'",
        "fault[1].name",
        "nearest: outlet_shut",
    ),
    (
        "[[fault]]\nname = 'rain'\nnight = 1\noffset = '0 s'\n" * 2,
        "fault[2]",
        "the same as fault[1]",
    ),
]


@pytest.mark.parametrize(("text", "path", "says"), ONE_MISTAKE)
def test_one_mistake_is_one_line_with_its_place(text: str, path: str, says: str) -> None:
    found = mistakes_of(text + "\n")
    assert list(found) == [path]
    assert says in found[path]
    assert "\n" not in found[path]


@pytest.mark.parametrize("channel", [row.key for row in BOARD_TABLE.rows if row.kind == "fitted"])
def test_a_channel_is_never_fitted_by_silence(channel: str) -> None:
    lines = [line for line in BOARD.splitlines() if not line.startswith(f"{channel} =")]
    found = mistakes_of("", "\n".join(lines))
    assert list(found) == [f"board.{channel}"]
    assert '"fitted" or "not fitted"' in found[f"board.{channel}"]


def test_no_board_at_all_names_all_channels() -> None:
    found = mistakes_of('name = "x"', board="")
    assert len(found) == 7
    assert all(path.startswith("board.") for path in found)


def test_transducers_must_reach_past_the_pump() -> None:
    board = BOARD.replace('"not fitted"', '"fitted"')
    found = mistakes_of("", board + 'pressure_span = "4 bar"\ncurrent_span = "10 A"\n')
    assert list(found) == ["board.pressure_span", "board.current_span"]
    read_site(BOARD + 'current_span = "10 A"\n')
    found = mistakes_of("", BOARD + 'asleep = "0.5 A"\n')
    assert list(found) == ["board.asleep"]


def test_an_impossible_pump_is_refused_with_what_would_be_possible() -> None:
    """A pump cannot give out more power than it takes in (conservation of energy)."""
    sheet = '[pump]\nopen_current = "2 A"\nmax_current = "2.5 A"\n[cable]\nfuse = "5 A"\n'
    found = mistakes_of(sheet)
    assert len(found) == 1
    (line,) = found.values()
    assert "pump." in line
    assert "possible" in line


def test_all_mistakes_of_a_file_come_at_once() -> None:
    singles = [
        ("[water]\nlift = 1.5\naltitude = '-500 m'\nlevel = '1 m'\n", 3),
        ("[suction]\nbore = '3/4'\nlength = '4 psi'\nfoot_valve = 'popet'\n", 3),
        ("[pump]\nopen_flow = '2000 L/min'\nopen_current = true\n", 2),
        ("[weather]\nt_min = '35 C'\nhumidity_min = '90 %'\n", 2),
        ("[bord]\npressure = 'fitted'\n", 1),
        ("[[set]]\nstart = '25:00'\n[[set]]\nrun = '1 m'\ndepth = '5 mm'\n", 3),
        ("[[fault]]\nname = 'outlet shut'\nnight = 0\noffset = '20'\n", 3),
    ]
    text = "".join(part for part, _ in singles)
    with pytest.raises(SiteError) as caught:
        read_site(text + BOARD, "my-plot.toml")
    assert len(caught.value.mistakes) == sum(count for _, count in singles)
    lines = str(caught.value).splitlines()
    assert lines[0] == "my-plot.toml: 17 mistakes"
    assert len(lines) == 18


def test_a_cross_check_is_not_made_on_a_value_that_is_wrong_itself() -> None:
    found = mistakes_of("[line]\nbore = '1 mm'\n")
    assert list(found) == ["line.bore"]


def test_what_was_read_is_shown_as_it_was_written() -> None:
    found = mistakes_of('[sprinkler]\nnozzle_bore = "3/4 in"\n')
    assert 'nozzle_bore = "3/4 in": wider' in found["sprinkler.nozzle_bore"]


def test_ranges_are_told_in_the_units_of_the_site() -> None:
    found = mistakes_of('units = "us"\n[line]\nlength = "9000 ft"\n')
    assert "1.64 ft to 1640 ft" in found["line.length"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "nothing in it"),
        (b"# only a comment\n", "nothing in it"),
        (b"\n\n[water\nlift = 1", "line 3: not TOML: expected ']' at the end of a table"),
        (b"name = 'a'\nname = 'b'\n", "line 2: not TOML"),
        (b"name = 'a", "line 1: not TOML"),
        (b"name = 'a'\nx = \xff\xfe\n", "line 2: not UTF-8"),
        (b"\x00\x01\x02", "line 1: not TOML"),
        (b"x = " + b"[" * 5000, "nested far too deep"),
        (b"x = " + b"9" * 5000, "file: "),
        (b"#" * 1_000_001, "far too long"),
    ],
)
def test_a_file_that_is_no_site(tmp_path: Path, content: bytes, says: str) -> None:
    path = tmp_path / "plot.toml"
    path.write_bytes(content)
    with pytest.raises(SiteError) as caught:
        load_site(path)
    assert says in str(caught.value)
    assert str(caught.value).startswith("plot.toml: 1 mistake\n")


def test_a_byte_order_mark_is_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "plot.toml"
    path.write_bytes(b"\xef\xbb\xbf" + BOARD.encode())
    assert load_site(path) == Site()


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(RillkeeperError, match="cannot be read"):
        load_site(tmp_path / "none.toml")


@settings(max_examples=200)
@given(
    st.dictionaries(
        st.sampled_from([table.name for table in TABLES] + ["units", "x"]),
        st.recursive(
            st.text(max_size=5) | st.integers() | st.floats() | st.booleans(),
            lambda inner: (
                st.lists(inner, max_size=3)
                | st.dictionaries(
                    st.sampled_from([row.key for _, row in ALL_ROWS]), inner, max_size=3
                )
            ),
            max_leaves=8,
        ),
        min_size=1,
        max_size=4,
    )
)
def test_any_toml_is_a_site_or_a_list_of_mistakes(data: dict[str, object]) -> None:
    text = "\n".join(f"{key} = {inline(value)}" for key, value in data.items())
    try:
        mistakes: tuple[Mistake, ...] = ()
        read_site(text)
    except SiteError as error:
        mistakes = error.mistakes
    # None of these files says what is fitted, so that none of them can be in order.
    assert mistakes
    assert all("\n" not in str(mistake) for mistake in mistakes)


def inline(value: object) -> str:
    """A value as inline TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {inline(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(inline, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(char):08X}" for char in value) + '"'
    return str(value).lower()
