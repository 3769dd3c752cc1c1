"""A flash that is blank, full or read-only, from the start or in a run: the relay is off."""

from collections.abc import Iterator

import pytest

from tests.power.ramboard import (
    EVENING_S,
    MemoryFile,
    MemoryFlash,
    RamBoard,
    Site,
    new_flash,
    no_port,
)

NO_SPACE, READ_ONLY = 28, 30


class BadFlash(MemoryFlash):
    """A flash that takes nothing more; the numbers are those of errno."""

    error = 0

    def open(self, path: str, mode: str) -> MemoryFile:
        if self.error and mode != "rb":
            raise OSError(self.error, path)
        return super().open(path, mode)

    def remove(self, path: str) -> None:
        if self.error:
            raise OSError(self.error, path)
        super().remove(path)


@pytest.fixture
def ram() -> Iterator[RamBoard]:
    with no_port():
        yield RamBoard(new_flash(), EVENING_S * 1000 - 2000, Site())


def spoil(ram: RamBoard, error: int) -> None:
    """From now on every write fails."""
    flash = BadFlash(ram.files)
    flash.error = error
    ram.board.files = ram.board.log._files = flash
    ram.board._memory_slots._files = ram.board.settings_slots._files = flash


def pump(ram: RamBoard, ticks: int) -> list[int]:
    """The levels of the relay pin over so many ticks."""
    levels = []
    for _ in range(ticks):
        levels.append(ram.tick())
        ram.settle()
    return levels


def test_a_blank_flash() -> None:
    with no_port():
        board = RamBoard({}, EVENING_S * 1000 - 2000, Site())
        assert not any(pump(board, 200))
        assert board.board.trouble == "manifest.txt is missing"


@pytest.mark.parametrize("error", [NO_SPACE, READ_ONLY])
def test_no_run_begins_that_could_not_be_remembered(error: int, ram: RamBoard) -> None:
    spoil(ram, error)
    assert not any(pump(ram, 300)), "the set is due after two seconds"
    assert ram.board.trouble == "flash cannot be written"


@pytest.mark.parametrize("error", [NO_SPACE, READ_ONLY])
def test_a_run_that_cannot_be_remembered_ends(error: int, ram: RamBoard) -> None:
    """At the next time that it would be: within the minute."""
    assert sum(pump(ram, 100)) > 50
    spoil(ram, error)
    levels = pump(ram, 700)
    assert levels[0] == 1
    assert not any(levels[-60:])
    assert ram.board.trouble == "flash cannot be written"
    assert ram.board.log.waiting > 0, "what could not be written still waits"
