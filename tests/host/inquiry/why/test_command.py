"""`rillkeeper why` as it is typed: answers, files, and clear words for what it cannot use."""

import json
import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from rillkeeper.commands import diagnosis
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.runlog.store import Archive
from rillsim.replay import replay
from tests.host.board.link.fakeboard import FakeBoard
from tests.host.inquiry.why.conftest import Bench, fault
from tests.host.pages.browser import hold, looks_at, open_page

pytestmark = pytest.mark.xdist_group("why")

Ask = Callable[..., Result]


@pytest.fixture
def ask(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Ask:
    """Runs the command on the site, whose signatures are known already."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    bench.known_in(tmp_path / "data")
    (tmp_path / "site.toml").write_text(bench.text, encoding="utf-8")

    def run(lines: Iterable[str], *options: str) -> Result:
        log = tmp_path / "nights.log"
        log.write_text("".join(f"{line}\n" for line in lines), encoding="ascii")
        return CliRunner().invoke(
            cli, ["why", str(tmp_path / "site.toml"), "--log", str(log), *options]
        )

    return run


@pytest.fixture(scope="module")
def clamp_log(bench: Bench) -> tuple[str, ...]:
    return bench.week(330, fault("corroded_clamp", 0.1)).log


def test_the_answer_comes_first(ask: Ask, clamp_log: tuple[str, ...]) -> None:
    result = ask(clamp_log)
    assert result.exit_code == 0
    first, *rest = result.stdout.splitlines()
    assert first.startswith("Most likely: cable or clamp resistance, since the night of ")
    text = " ".join(" ".join(rest).split())
    assert "nothing wrong" in text
    assert "mohm" in text
    how_bad = json.loads(ask(clamp_log, "--json").stdout)["causes"][0]["how_bad"]
    assert re.fullmatch(
        r"0\.[1-9] V less, (hardly felt yet|[0-9]+ % less water) \([0-9]+ mohm more\)", how_bad
    )
    assert "1. cable or clamp resistance (3 min)" in text


def test_a_sound_week(ask: Ask, bench: Bench, tmp_path: Path) -> None:
    page = tmp_path / "sound.html"
    result = ask(bench.week(331).log, "--page", str(page))
    assert result.exit_code == 0
    assert result.stdout.startswith("Nothing is wrong (")
    html = page.read_text(encoding="utf-8")
    assert html.count("<svg") == 4  # Two pictures, each for a wide and for a narrow screen.
    assert "Red line" not in html


def test_one_json_document(ask: Ask, clamp_log: tuple[str, ...]) -> None:
    result = ask(clamp_log, "--json")
    found = json.loads(result.stdout)
    assert list(found) == sorted(found)
    assert found["schema"] == 1
    assert found["first_answer"] == ["cable or clamp resistance"]
    assert found["told_apart"] is True
    assert found["nights"] == 4
    total = found["nothing_wrong_probability"] + sum(c["probability"] for c in found["causes"])
    assert total == pytest.approx(1.0, abs=1e-3)
    first = found["causes"][0]
    assert set(first) == {
        "name", "probability", "since_night_of", "since_night", "course", "fault", "severity",
        "how_bad", "evidence", "look", "look_minutes", "what_tells_it",
    }  # fmt: skip
    assert first["severity"] == pytest.approx(0.1, rel=0.2)
    assert {"night_of", "run", "sign", "unit", "off", "sound_deviation"} == set(found["signs"][0])


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([], "no night is in this log"),
        (["not a log", "at all"], "2 lines could not be read"),
    ],
)
def test_nothing_to_judge(ask: Ask, lines: list[str], words: str) -> None:
    result = ask(lines)
    assert result.exit_code == 1
    assert words in result.stderr


def test_the_wrong_site_is_told(ask: Ask, bench: Bench) -> None:
    """Another hose, nozzle and cable: too much would be wrong, and no cause is blamed."""
    site = bench.site
    other = replace(
        site,
        line=replace(site.line, bore_m=0.019, length_m=12.0, rise_m=3.5),
        sprinkler=replace(site.sprinkler, nozzle_bore_m=4.4e-3),
        cable=replace(site.cable, length_m=6.0),
    )
    log = replay(other, settings_of(other), nights=3, seed=332, fast=True).log
    result = ask(log)
    assert result.exit_code == 1
    assert "is this the site file of that board?" in result.stderr


def test_gaps_and_damage_are_stated(ask: Ask, clamp_log: tuple[str, ...]) -> None:
    lines = list(clamp_log)
    lines[12] = lines[12][:20]
    del lines[30:33]
    result = ask(lines)
    assert result.exit_code == 0
    text = " ".join(result.stdout.split())
    assert "1 line could not be read." in text
    assert "missing between" in text
    assert "cable or clamp resistance" in text


def test_usage(ask: Ask, clamp_log: tuple[str, ...]) -> None:
    result = ask(clamp_log, "--board", "one")
    assert result.exit_code == 2
    assert "--log goes without --board" in result.stderr
    assert ask(clamp_log, "--since", "yesterday").exit_code == 2
    result = ask(clamp_log, "--since", "2031-01-01")
    assert result.exit_code == 1
    assert "no night since 2031-01-01" in result.stderr


def test_the_archive_will_do(
    bench: Bench, clamp_log: tuple[str, ...], ask: Ask, tmp_path: Path
) -> None:
    with Archive(tmp_path / "kept.sqlite") as archive:
        archive.add("plot", 0, clamp_log)
    ask(clamp_log)
    result = CliRunner().invoke(
        cli, ["why", str(tmp_path / "site.toml"), "--archive", str(tmp_path / "kept.sqlite")]
    )
    assert result.stdout.startswith("Most likely: cable or clamp resistance")


def test_the_page_asks_for_nothing(ask: Ask, clamp_log: tuple[str, ...], tmp_path: Path) -> None:
    page = tmp_path / "why.html"
    assert ask(clamp_log, "--page", str(page)).exit_code == 0
    html = page.read_text(encoding="utf-8")
    assert "http:" not in html
    assert "https:" not in html
    assert "<script" not in html
    assert html.count("<svg") == 4  # Two pictures, each for a wide and for a narrow screen.
    ids = re.findall(r' id="([^"]+)"', html)
    assert len(ids) == len(set(ids))


@pytest.mark.browser
def test_the_page_in_a_browser(
    ask: Ask, clamp_log: tuple[str, ...], need: Callable[[str], Path], tmp_path: Path
) -> None:
    program = need("chromium")
    file = tmp_path / "why.html"
    ask(clamp_log, "--page", str(file))
    page = open_page(program, file)
    assert page.errors == []
    assert page.requests == []
    assert not page.wider_than_screen
    assert page.title.endswith("what is going wrong")
    assert "Cable or clamp resistance" in page.text
    words = [picture.words for picture in page.pictures]
    assert words[0].startswith("The signs run by run, less what a sound site gives. At the end")
    assert words[1].startswith("How likely each cause is: nothing wrong: under 1 %")
    assert all(picture.width > 300 and picture.height > 150 for picture in page.pictures)
    for look in looks_at(program, need("axe"), file):
        hold(look)
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", page.pdf)) <= 4


def test_report_carries_it_and_status_remembers_it(
    bench: Bench,
    clamp_log: tuple[str, ...],
    ask: Ask,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A site file that was given once is the board's: its name, and what `why` is asked about."""
    ask(clamp_log)
    kept = str(tmp_path / "kept.sqlite")
    with Archive(Path(kept)) as archive:
        archive.add("01ab", 0, clamp_log)
    run = CliRunner().invoke
    site = ("--site", str(tmp_path / "site.toml"))
    plain = json.loads(run(cli, ["report", "--archive", kept, "--json"]).stdout)
    assert plain["troubles"]["why"] is None
    given = json.loads(run(cli, ["report", "--archive", kept, "--json", *site]).stdout)
    (told,) = given["troubles"]["open"]
    assert told["what"].startswith("cable or clamp resistance")
    assert told["told_by"][0] == "why"
    assert told["since"].startswith("since the night of ")
    monkeypatch.setattr(diagnosis, "diagnose", None)  # It is not asked twice about one log.
    again = json.loads(run(cli, ["report", "--archive", kept, "--json"]).stdout)
    assert again["site"] == bench.site.name
    assert again["troubles"] == given["troubles"]
    for called in (bench.site.name, bench.site.name.upper(), "01ab"):
        result = run(cli, ["report", "--archive", kept, "--board", called])
        assert "Check this: cable or clamp resistance" in " ".join(result.stdout.split())
    quick = json.loads(run(cli, ["report", "--archive", kept, "--json", "--quick"]).stdout)
    assert quick["troubles"]["why"] is None
    with FakeBoard(records=3) as board:
        told = " ".join(
            run(cli, ["status", "--port", board.path, "--archive", kept]).stdout.split()
        )
        assert f"board {bench.site.name} (01ab), firmware" in told
        assert "wrong cable or clamp resistance, since the night of" in told
        assert "by why, in the log up to the night of" in told
        document = json.loads(
            run(cli, ["status", "--port", board.path, "--archive", kept, "--json"]).stdout
        )
    assert document["troubles"][0]["what"] == ["cable or clamp resistance"]


def test_week_carries_it(ask: Ask, tmp_path: Path) -> None:
    """The replay's own log is held against the site, whose trials were made beforehand."""
    ask([])
    site = str(tmp_path / "site.toml")
    result = CliRunner().invoke(
        cli, ["week", site, "--nights", "2", "--fault", "corroded_clamp@2-8h:0.3", "--json"]
    )
    assert result.exit_code == 0, result.stderr
    document = json.loads(result.stdout)
    assert document["troubles"]["why"].startswith("Most likely: cable or clamp resistance")
    assert "cable or clamp resistance" in document["verdict"]["trouble"]["answer"]
