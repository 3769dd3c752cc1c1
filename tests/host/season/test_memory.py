"""Memory does not grow with the number of seasons."""

import tracemalloc
from pathlib import Path

import pytest

from rillkeeper.season import crew, words
from rillkeeper.season.answer import Variant
from rillkeeper.season.kept import Kept
from rillkeeper.season.question import Question
from tests.host.season.few import few, season

FEW, MANY = 100, 1000


def peak_kb(folder: Path, years: int) -> tuple[float, Variant]:
    """Most that Python held while so many seasons were played, kept, put together and told."""
    question = Question(few().variants, 2, 5, range(years))
    kept = Kept(folder / str(years), question.mark)
    tracemalloc.start()
    try:
        variants = question.answer(kept, 1, None, lambda _: None)
        told = [*words.sentences(variants[0], 10), words.compare_table(variants)]
        assert told
        return tracemalloc.get_traced_memory()[1] / 1024.0, variants[0]
    finally:
        tracemalloc.stop()


def test_ten_times_the_seasons_take_no_more_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Made-up seasons of two variants. SQLite's page cache, which is beside it, has its size."""
    monkeypatch.setattr(crew, "play", lambda task: season(task.number % 5))
    peak_kb(tmp_path, 10)
    few_kb, _ = peak_kb(tmp_path, FEW)
    many_kb, found = peak_kb(tmp_path, MANY)
    assert found.years == MANY
    assert found.band("trips") == (0.0, 2.0, 4.0)
    # A hundred bytes for each season would be 190 kB.
    assert many_kb < few_kb + 64.0
