"""Virtual boards for the tests of the serial side."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.board.link import ports
from tests.host.board.link.virtual import Running


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(ports.list_ports, "comports", list)
    return tmp_path


@pytest.fixture
def start(need: Callable[[str], Path], data: Path) -> Iterator[Callable[..., Running]]:
    need("micropython")
    running: list[Running] = []

    def begin(*words: str) -> Running:
        running.append(Running(data, *words))
        return running[-1]

    yield begin
    for one in running:
        one.close()
