"""The command against a board on a terminal."""

from click.testing import CliRunner, Result

from rillkeeper.cli import cli
from tests.host.flash.promptboard import PromptBoard

OLD, NEXT = "0.1.7", "0.1.8"
"""Versions of the two firmwares that are flashed."""


def flash(board: PromptBoard, *words: str) -> Result:
    """`rillkeeper flash`, without being asked."""
    return say(board, "flash", "--yes", *words)


def say(board: PromptBoard, *words: str) -> Result:
    """Any other command for that board."""
    args = [words[0], "--port", board.path, *words[1:]]
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")
