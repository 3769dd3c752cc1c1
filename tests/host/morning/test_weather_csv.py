"""A table of daily weather: what is read, what is refused, and FAO-56's examples through it."""

import math
from contextlib import suppress
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from rillkeeper.cli import cli
from rillkeeper.morning.weather import read_file, read_text, reference_of
from rillkeeper.morning.weather.columns import COLUMNS, Column, heading_of
from rillkeeper.morning.weather.reader import WeatherMistakes
from rillkeeper.morning.weather.reference import GIVEN, HARGREAVES, PENMAN_MONTEITH
from rillkeeper.site.file import DEMO
from tests.host.runlog.sample_log import sample

UCCLE = (50.8, 100.0)
LYON = (45.72, 200.0)
BANGKOK = (13.73, 2.0)


def day_number(month: int, day: int) -> int:
    """In a year that is no leap year."""
    return (date(2026, month, day) - date(1970, 1, 1)).days


def only(text: str) -> tuple[int, dict[str, float]]:
    ((number, values),) = read_text(text).items()
    return number, values


# FAO-56, chapter 4.

UCCLE_TABLES = {
    "metric": (
        "date,t_max [C],t_min [C],humidity_max [%],humidity_min [%],wind_10m [km/h],sunshine [h]\n"
        "2026-07-06,21.5,12.3,84,63,10,9.25\n"
    ),
    "decimal commas": (
        "date;t_max C;t_min C;humidity_max %;humidity_min %;wind_10m m/s;sunshine h\n"
        "6.7.2026;21,5;12,3;84;63;2,778;9,25\n"
    ),
    "US units": (
        "Date\tMax temperature (F)\tMin temperature (F)\trh_max (%)\trh_min (%)\twind 10m (mph)"
        "\tsun (hours)\n2026-07-06\t70.7\t54.14\t84\t63\t6.2137\t9.25\n"
    ),
}


@pytest.mark.published
@pytest.mark.parametrize("shape", UCCLE_TABLES)
def test_example_18_of_fao_56(shape: str) -> None:
    """Uccle (Brussels), 6 July: 3.9 mm/day. Wind 10 km/h at 10 m, sunshine 9.25 h."""
    number, values = only(UCCLE_TABLES[shape])
    found = reference_of(values, number, *UCCLE)
    assert found is not None
    assert found.mm == pytest.approx(3.88, abs=0.01)
    assert found.method == PENMAN_MONTEITH
    assert found.filled == ()


@pytest.mark.published
def test_example_17_of_fao_56() -> None:
    """Bangkok in April: 5.72 mm/day with a soil heat of 0.14 MJ/m2, which a day has not.

    Vapour pressure 2.85 kPa is a dew point of 23.1 C (eq. 14); a month's soil heat is worth
    0.408 x 0.246 / (0.246 + 0.0674 x 1.68) x 0.14 = 0.04 mm.
    """
    text = (
        "date,t_max C,t_min C,dew_point C,wind m/s,sunshine h\n2026-04-15,34.8,25.6,23.1,2,8.5\n"
    )
    number, values = only(text)
    found = reference_of(values, number, *BANGKOK)
    assert found is not None
    assert found.mm == pytest.approx(5.72 + 0.04, abs=0.03)
    assert found.filled == ()


@pytest.mark.published
def test_example_20_of_fao_56() -> None:
    """Lyon, 15 July, from temperatures alone: 4.56 by Penman-Monteith, 5.04 by Hargreaves."""
    number, values = only("date,t_max C,t_min C\n2026-07-15,26.6,14.8\n")
    alone = reference_of(values, number, *LYON)
    assert alone is not None
    assert alone.method == HARGREAVES
    assert alone.mm == pytest.approx(5.04, abs=0.02)
    number, values = only("date,t_max C,t_min C,wind m/s\n2026-07-15,26.6,14.8,2\n")
    estimated = reference_of(values, number, *LYON)
    assert estimated is not None
    assert estimated.method == PENMAN_MONTEITH
    assert estimated.mm == pytest.approx(4.56, abs=0.03)
    assert [what[-8:] for what in estimated.filled] == ["(eq. 50)", "(eq. 48)"]


@pytest.mark.published
def test_humidity_by_its_other_rules() -> None:
    """FAO-56 example 5 (25 C, 18 C, 82 %, 54 %): ea 1.70 by eq. 17, 1.69 by 18, 1.78 by 19."""
    air = {"t_max": 25.0, "t_min": 18.0, "wind": 2.0, "radiation": 20.0}
    number = day_number(7, 1)

    def et_mm(**humidity: float) -> float:
        found = reference_of({**air, **humidity}, number, *UCCLE)
        assert found is not None
        return found.mm

    for humidity, vapour in (
        ({"humidity_max": 82.0, "humidity_min": 54.0}, 1.70),
        ({"humidity_max": 82.0}, 1.69),
        ({"humidity": 68.0}, 1.78),
    ):
        x = math.log(vapour / 0.6108)  # FAO-56 eq. 11 turned round.
        same = et_mm(dew_point=237.3 * x / (17.27 - x))
        assert et_mm(**humidity) == pytest.approx(same, abs=0.02)


def test_radiation_in_its_three_units() -> None:
    """1 kWh is 3.6 MJ; 1 W/m2 over a day is 0.0864 MJ/m2."""
    for unit, value in (("MJ/m2", 21.6), ("kWh/m2", 6.0), ("W/m2", 250.0), ("MJ/m2/day", 21.6)):
        _, values = only(f"date,radiation [{unit}]\n2026-07-06,{value}\n")
        assert values == {"radiation": pytest.approx(21.6)}


def test_ready_values_are_taken_as_they_are() -> None:
    number, values = only("date,et0 in,t_max C,t_min C\n2026-07-06,0.2,30,10\n")
    found = reference_of(values, number, *UCCLE)
    assert found is not None
    assert (found.mm, found.method) == (pytest.approx(5.08), GIVEN)


def test_a_wind_that_was_not_measured_is_two_metres_a_second() -> None:
    _, values = only("date,t_max C,t_min C,radiation MJ/m2\n2026-07-06,26,12,20\n")
    found = reference_of(values, 20640, *UCCLE)
    same = reference_of({**values, "wind": 2.0}, 20640, *UCCLE)
    assert found is not None
    assert same is not None
    assert found.mm == same.mm
    assert "wind as 2 m/s" in found.filled


# Reading.


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: column.name)
def test_every_column_in_every_unit_and_shape(column: Column) -> None:
    for name in (column.name, *column.other_names):
        for unit in column.units:
            for shape in (f"{name} [{unit}]", f"{name.upper()} ({unit})", f"{name} {unit}"):
                found = heading_of(shape)
                assert found is not None
                assert found.column is column
                assert found.factor == float(column.units[unit])
    assert heading_of(f"{column.name}_{column.own}") is not None


def test_what_is_not_known_is_left_out() -> None:
    days = read_text("date,t_max C,rain mm\n2026-07-06,-,\n2026-07-08,20,NA\n\n2026-07-07,n/a,2\n")
    start = day_number(7, 6)
    assert days == {start: {}, start + 1: {"rain": 2.0}, start + 2: {"t_max": 20.0}}
    assert list(days) == sorted(days)


def test_other_columns_are_left_alone() -> None:
    days = read_text("station,date,rain mm,remark\nmill,2026-07-06,1,very; wet\n")
    assert list(days.values()) == [{"rain": 1.0}]


@pytest.mark.parametrize(
    ("content", "known"),
    [
        (b"\xef\xbb\xbfdate,rain mm\r\n2026-07-06,1\r\n", {"rain": 1.0}),
        ("date,t_max [\N{DEGREE SIGN}C]\n2026-07-06,20\n".encode("cp1252"), {"t_max": 20.0}),
        ("date\train mm\n2026-07-06\t1\n".encode("utf-16"), {"rain": 1.0}),
    ],
    ids=["utf-8 with a mark", "cp1252", "utf-16"],
)
def test_files_as_spreadsheets_write_them(
    tmp_path: Path, content: bytes, known: dict[str, float]
) -> None:
    file = tmp_path / "w.csv"
    file.write_bytes(content)
    assert list(read_file(file).values()) == [known]


MISTAKES = {
    "": "is empty; its first line names the columns: date, t_max,",
    ",": "is empty; its first line names the columns: date, t_max,",
    ' ;"";\n;;\n': "is empty; its first line names the columns: date, t_max,",
    "rain mm\n1\n": "line 1: no column date; columns may be: date, t_max,",
    "date,snow cm\n2026-07-06,1\n": "line 1: no column that is known",
    "date,rain\n2026-07-06,1\n": 'line 1: column "rain" has no unit; write it as rain [mm]',
    "date,rain [l]\n2026-07-06,1\n": 'has a unit "l" that does not fit; allowed: mm, in',
    "date,rain mm,rain in\n2026-07-06,1,1\n": "line 1: two columns for rain; keep one",
    "date,rain mm\n": "has headings and no days",
    "date,rain mm\n2026-07-06,much\n": 'line 2, rain mm: "much" is not a number; allowed: 0 to',
    "date,rain mm\n2026-07-06,900\n": 'line 2, rain mm: "900" cannot be; allowed: 0 to 500 mm',
    "date,t_max F\n2026-07-06,200\n": 'line 2, t_max F: "200" cannot be; allowed: -60 to 60 C',
    "date,rain mm\n2026-07-06,nan5\n": "is not a number",
    "date,rain mm\n2026-07-06,inf\n": "cannot be",
    "date,rain mm\n7/6/2026,1\n": 'line 2, date: "7/6/2026" is not a day; allowed: 2026-07-09 or',
    "date,rain mm\n2026-07-06,1,5\n": "line 2: 3 cells for 2 columns, parted by commas; decimal",
    "date;rain mm\n2026-07-06;1,2,3\n": "is not a number",
    "date,rain mm\n2026-07-06,1\n2026-07-06,2\n": "this day stands in line 2 already",
    "date,t_max C,t_min C\n2026-07-06,10,20\n": "line 2: t_min 20 is above t_max 10",
    'date,rain mm\n"2026-07-06,1\n': "not a CSV table",
}


@pytest.mark.parametrize("text", MISTAKES)
def test_one_line_for_a_mistake(text: str) -> None:
    with pytest.raises(WeatherMistakes) as caught:
        read_text(text, "july.csv")
    line = str(caught.value)
    assert line.startswith("july.csv: ")
    assert MISTAKES[text] in line
    assert "\n" not in line


def test_all_mistakes_at_once_and_never_too_many() -> None:
    rows = "".join(f"2026-07-{n:02d},x\n" for n in range(1, 31))
    with pytest.raises(WeatherMistakes) as caught:
        read_text(f"date,rain mm\n{rows}")
    text = str(caught.value)
    assert text.startswith("weather: 30 mistakes\n")
    assert text.count("\n") == 21
    assert text.endswith("and 10 more")


# The command.

WEATHER = "date,et0 mm,rain mm\n2026-06-01,5.0,0\n2026-06-02,4.0,1.5\n2026-06-03,6.0,0\n"


def say(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    file = tmp_path / "run.log"
    file.write_text("\n".join(sample().lines))
    return file


def test_the_report_with_weather(tmp_path: Path, log: Path) -> None:
    weather = tmp_path / "june.csv"
    weather.write_text(WEATHER)
    table = tmp_path / "nights.csv"
    result = say(
        *("report", str(log), "--site", str(DEMO), "--weather", str(weather)),
        *("--csv", str(table)),
    )
    assert result.exit_code == 0, result.stderr
    assert "Crop" in result.stdout
    assert "In 3 days crop and ground used" in " ".join(result.stdout.split())
    assert "crop_use [mm]" in table.read_text().splitlines()[0]


def test_without_weather_it_is_not_known(log: Path) -> None:
    text = " ".join(say("report", str(log)).stdout.split())
    assert (
        "What crop and ground used, and what the soil lacks, is not known without the weather"
        in text
    )


def test_weather_needs_a_site_and_mistakes_are_told(tmp_path: Path, log: Path) -> None:
    weather = tmp_path / "june.csv"
    weather.write_text("date,rain\n")
    assert say("report", str(log), "--weather", str(weather)).exit_code == 2
    result = say("report", str(log), "--site", str(DEMO), "--weather", str(weather))
    assert result.exit_code == 1
    assert result.stderr.startswith('rillkeeper: june.csv: line 1: column "rain" has no unit')


CELLS = st.one_of(
    st.sampled_from(["2026-07-06", "7.7.2026", "", "-", "1", "1,5", "1e400", "nan", '"', "'"]),
    st.text(max_size=8),
)


@given(
    st.sampled_from([",", ";", "\t"]),
    st.lists(st.one_of(st.just("date"), st.sampled_from(["rain mm", "t_max F", "x"]), CELLS)),
    st.lists(st.lists(CELLS, max_size=5), max_size=5),
)
def test_no_table_makes_it_fall_over(
    separator: str, headings: list[str], rows: list[list[str]]
) -> None:
    text = "\n".join(separator.join(row) for row in [headings, *rows])
    days = {}
    with suppress(WeatherMistakes):
        days = read_text(text)
    assert all(isinstance(day, int) for day in days)


@given(st.binary(max_size=200))
def test_no_file_makes_it_fall_over(content: bytes) -> None:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "w.csv"
        file.write_bytes(content)
        with suppress(WeatherMistakes):
            read_file(file)
