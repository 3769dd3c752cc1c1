"""Files that a command writes beside what it prints: refused before the work, told after it."""

import importlib.util
from collections.abc import Callable
from pathlib import Path

import click

from rillkeeper.errors import RillkeeperError, UsageMistake


def check_folders(*files: str | None) -> None:
    """Say that a file cannot be written before the work is done, not after it."""
    for file in files:
        if file and not Path(file).absolute().parent.is_dir():
            raise UsageMistake(f"{file}: no such folder; make it first or choose another")


def save(what: str, file: str, write: Callable[[Path], object]) -> None:
    """Write a file, and say on stderr that it is there."""
    path = Path(file)
    try:
        write(path)
    except OSError as error:
        raise RillkeeperError(f"{file}: cannot be written: {error.strerror}") from None
    click.echo(f"{what}: {file}", err=True)


def need_pictures(path: Path) -> None:
    """Say what is missing where a page's pictures cannot be drawn."""
    if importlib.util.find_spec("matplotlib") is None:
        raise RillkeeperError(
            f"{path}: the page's pictures need matplotlib; run: pip install 'rillkeeper[page]'"
        )
