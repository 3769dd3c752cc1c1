"""One desk for the tests of a file; it keeps nothing that one of them could find of another's."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.host.board.link.conftest import data, start
from tests.host.desk.serving import Open, served
from tests.host.desk.window import show

__all__ = ["data", "show", "start"]
"""Virtual boards, as the tests of the link have them, and a window of a browser."""


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Open]:
    archive: Path = tmp_path_factory.mktemp("desk") / "archive.db"
    with served(archive) as found:
        yield found
