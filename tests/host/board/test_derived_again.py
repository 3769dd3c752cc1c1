"""What is said of the settings of a board that was flashed without any."""

from pathlib import Path

import pytest

from rillkeeper.commands.derived_again import sentence_on
from rillkeeper.commands.diagnosis import remember_site
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import DEMO, load_site

BOARD = "a1b2c3"


@pytest.fixture(autouse=True)
def site_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A board's site file."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    path = tmp_path / "plot.toml"
    path.write_bytes(Path(DEMO).read_bytes())
    remember_site(None, BOARD, load_site(str(path)), str(path), None)
    return path


@pytest.fixture(scope="module")
def derived() -> dict[str, int]:
    return settings_of(load_site(str(DEMO)))


def test_what_is_derived_today_needs_no_word(derived: dict[str, int]) -> None:
    assert sentence_on(BOARD, {**derived, "pressure_zero_trim_count": 3}) == ""


def test_another_limit_is_named_with_what_to_do(derived: dict[str, int], site_file: Path) -> None:
    said = sentence_on(BOARD, {**derived, "dead_head_pa": derived["dead_head_pa"] - 4000})
    today = derived["dead_head_pa"]
    assert f"plot.toml gives others today (dead_head_pa {today - 4000} -> {today})" in said
    assert said.endswith(f"rillkeeper flash --settings {site_file}")


def test_of_many_the_first_are_named(derived: dict[str, int]) -> None:
    said = sentence_on(BOARD, {})
    assert said.count(" -> ") == 4
    assert f" and {len(derived) - 4} more" in said


def test_a_site_without_safe_limits_is_told(derived: dict[str, int], site_file: Path) -> None:
    site_file.write_text("name = 3\n", encoding="utf-8")
    assert "none can be derived today: " in sentence_on(BOARD, derived)


def test_a_board_whose_site_is_not_known_gets_the_advice(
    derived: dict[str, int], site_file: Path
) -> None:
    site_file.unlink()
    for board in (BOARD, "ffffff"):
        assert "rillkeeper flash --settings SITE.toml" in sentence_on(board, derived)
