"""`season --on`: a scheduler and a worker in processes of their own, as a user starts them."""

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner

from rillkeeper.cli import cli
from rillkeeper.season import crew

pytest.importorskip("distributed")
DASK = Path(sys.executable).parent / "dask"
SHORT = ("season", "--from", "07-01", "--to", "07-01", "--years", "2")


@contextmanager
def started(*words: str, says: str) -> Iterator[str]:
    """A process until it has said so; what it said is handed out, and at the end it is ended."""
    process = subprocess.Popen([DASK, *words], stderr=subprocess.PIPE, text=True)
    try:
        assert process.stderr is not None
        found = next((m for line in process.stderr if (m := re.search(says, line))), None)
        assert found, f"dask {words[0]} ended with {process.wait()}"
        yield found.group(1)
    finally:
        process.kill()
        process.communicate()


def scheduler() -> AbstractContextManager[str]:
    words = ("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
    return started(*words, says=r"Scheduler at:\s+(tcp://127\.0\.0\.1:[1-9]\d*)")


def test_a_scheduler_of_ones_own_gives_the_same_answer(tmp_path: Path) -> None:
    here = CliRunner().invoke(cli, [*SHORT, "--workers", "1", "--json"])
    with scheduler() as address:
        words = ("worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard")
        more = ("--local-directory", str(tmp_path))
        with started(*words, *more, says=r"(Registered to)"):
            there = CliRunner().invoke(cli, [*SHORT, "--on", address, "--json"])
    assert there.exit_code == 0, there.stderr
    assert there.stderr.startswith(f"trying the scheduler at {address}, 20 s at the most")
    assert there.stdout == here.stdout


def test_a_scheduler_without_workers_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    with scheduler() as address:
        monkeypatch.setattr(crew, "CONNECT_S", 0.5)
        done = CliRunner().invoke(cli, [*SHORT, "--on", address])
    assert done.exit_code != 0
    assert f"--on {address}: the scheduler has no workers" in done.stderr


def test_a_dead_address_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "CONNECT_S", 0.5)
    done = CliRunner().invoke(cli, [*SHORT, "--on", "tcp://127.0.0.1:9"])
    assert done.exit_code != 0
    tried, failed = done.stderr.splitlines()
    assert tried.startswith("trying the scheduler at tcp://127.0.0.1:9")
    assert "no scheduler answers" in failed
    assert "dask scheduler" in failed
