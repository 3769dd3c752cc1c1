"""`rillkeeper season`, from the command line."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from rillkeeper.cli import cli
from rillkeeper.site.file import demo_site

HERE = ("--workers", "1")
SHORT = ("season", "--from", "07-01", "--to", "07-02", *HERE)


def run(*words: str, status: int = 0) -> tuple[str, str]:
    done = CliRunner().invoke(cli, list(words))
    assert done.exit_code == status, done.stderr
    return done.stdout, done.stderr


def test_words_come_first_and_files_beside(tmp_path: Path) -> None:
    page, table, kept = (tmp_path / name for name in ("page.html", "table.csv", "kept"))
    files = ("--page", str(page), "--csv", str(table), "--resume", str(kept))
    compare = ("--compare", "battery.capacity=60 Ah,100 Ah")
    told, _ = run(*SHORT, "--years", "2", *compare, *files)
    assert told.startswith(demo_site().name)
    assert "In 2 of 2 years no more than" in told.replace("\n", " ")
    assert "capacity 100 Ah less" in told
    rows = table.read_bytes().decode().split("\r\n")
    assert rows[0].startswith("variant,season,full,rain,cut,missed,dry_days,trips,litres,taken_l")
    assert [row.split(",")[:2] for row in rows[1:5]] == [
        ["0", "0"],
        ["0", "1"],
        ["1", "0"],
        ["1", "1"],
    ]
    html = page.read_text(encoding="utf-8")
    assert html.count("<svg") == 3
    assert 'href="http' not in html
    assert "Water and electricity hurt people" in html
    # Gone on with from the file: nothing is played, and the same is said.
    again, _ = run(*SHORT, "--years", "2", *compare, "--resume", str(kept))
    assert again == told


def test_json_is_one_document_and_its_years_those_of_the_table(tmp_path: Path) -> None:
    weather = tmp_path / "weather.csv"
    days = [f"{year}-07-0{day},26,13,0" for year in (2019, 2020) for day in range(1, 6)]
    weather.write_text("date,t_max [C],t_min [C],rain [mm]\n" + "\n".join(days) + "\n")
    told, _ = run(*SHORT, "--weather", str(weather), "--json")
    document = json.loads(told)
    only = document["variants"][0]
    assert (document["nights"], only["years"]) == (2, 2)
    assert only["figures"]["rain_mm"]["high"] == 0.0
    assert len(only["driest_quarter_mm"][1]) == 2
    assert only["off_percent"] < 0.1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--from", "31-12"), "is not a day; example: --from 05-15"),
        (("--from", "01-01", "--to", "12-31"), "300 at the most"),
        (("--compare", "battery.capacity=60 Ah"), "give a key and 2 to 6 values"),
        (("--compare", "battery.capcity=60 Ah,80 Ah"), "did you mean battery.capacity"),
        (("--compare", "set[3].run=5 min,8 min"), "this site has 1 set"),
        (("--csv", "nowhere/at/all.csv"), "no such folder"),
    ],
)
def test_mistakes_are_one_line(words: tuple[str, ...], told: str) -> None:
    _, errors = run("season", *words, *HERE, status=2)
    assert told in errors
    assert errors.count("\n") == 1


def test_a_value_that_cannot_be_leaves_six() -> None:
    _, errors = run("season", "--compare", "battery.capacity=60 Ah,blue", *HERE, status=6)
    assert "blue" in errors
