"""The same bytes whoever plays the seasons: here, in a cluster, and with a worker killed."""

import json
import os
import signal
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from rillkeeper.errors import RillkeeperError
from rillkeeper.season import crew
from rillkeeper.season.documents import csv_text, document
from rillkeeper.season.kept import Kept
from rillkeeper.season.question import Question
from rillkeeper.season.task import Result, Task, play
from tests.host.season.few import NIGHTS, few


def bytes_of(question: Question, kept: Kept, workers: int = 1) -> str:
    variants = question.answer(kept, workers, None, lambda _: None)
    return json.dumps(document(variants, NIGHTS, question.seed)) + csv_text(variants)


@cache
def here() -> str:
    return bytes_of(few(), Kept(":memory:", few().mark))


def done(kept: Kept) -> int:
    return sum(kept.has(variant, number) for variant in (0, 1) for number in range(4))


def test_a_cluster_gives_the_same_bytes_though_a_worker_is_killed(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    question, kept = few(), Kept(tmp_path / "kept", few().mark)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        played = crew.hand_out(client, question.tasks(kept))
        key, result = next(played)
        kept.add(*key, result)
        killed = next(iter(client.run(os.getpid).values()))
        os.kill(killed, signal.SIGKILL)
        for key, result in played:
            kept.add(*key, result)
        assert killed not in client.run(os.getpid).values()
    assert done(kept) == 8
    assert bytes_of(question, kept) == here()


def test_processes_without_dask_give_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "has_dask", lambda: False)
    question = few()
    assert bytes_of(question, Kept(":memory:", question.mark), workers=2) == here()


def test_a_pool_that_breaks_is_begun_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was in hand is played again, and nothing is played twice."""
    rounds: list[int] = []

    def breaks(todo: Any, again: list[Any], lost: list[Any], workers: int) -> Iterator[Any]:
        rounds.append(len(again))
        hand = again or [next(todo), next(todo)]
        if len(rounds) == 1:
            yield hand[0][0], {"kept": 1}
            lost.append(hand[1])
            return
        for key, _ in [*hand, *todo]:
            yield key, {"kept": 1}

    monkeypatch.setattr(crew, "_pool_round", breaks)
    question = few()
    played = [key for key, _ in crew._in_pool(question.tasks(Kept(":memory:", "")), 2)]
    assert rounds == [0, 1]
    assert sorted(played) == [(place, number) for place in (0, 1) for number in range(4)]


def test_what_is_kept_is_not_played_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    question, file, expected = few(), tmp_path / "kept", here()
    kept = Kept(file, question.mark)
    played: list[int] = []

    def stops(task: Task) -> Result:
        if len(played) == 3:
            raise KeyboardInterrupt
        played.append(task.number)
        return play(task)

    monkeypatch.setattr(crew, "play", stops)
    with pytest.raises(KeyboardInterrupt):
        bytes_of(question, kept)
    kept.close()
    kept = Kept(file, question.mark)
    assert done(kept) == 3
    monkeypatch.setattr(crew, "play", lambda task: played.append(task.number) or play(task))
    assert bytes_of(question, kept) == expected
    assert len(played) == 8


def test_another_question_is_refused(tmp_path: Path) -> None:
    Kept(tmp_path / "kept", few().mark).close()
    assert few(9).mark == few().mark  # More years go on in the same file.
    with pytest.raises(RillkeeperError, match="holds seasons of another site"):
        Kept(tmp_path / "kept", "other")
    (tmp_path / "text").write_text("no base of results, but a text that is longer than a page")
    with pytest.raises(RillkeeperError, match="cannot be used for results"):
        Kept(tmp_path / "text", "other")


def test_another_version_is_refused() -> None:
    _, task = next(few().tasks(Kept(":memory:", "")))
    with pytest.raises(RillkeeperError, match="install the same version"):
        play(Task(task.site, task.settings, 1, 1, 1, version="0.0.0"))


def test_without_dask_an_address_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "has_dask", lambda: False)
    with pytest.raises(RillkeeperError, match="pip install"):
        crew.play_all([], 1, "tcp://192.0.2.1:8786")
