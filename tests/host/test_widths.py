"""What terminals of 60, 80 and 120 columns show: nothing over the edge, nothing left out."""

import fcntl
import os
import re
import struct
import subprocess
import sys
import termios

import pytest
from rich.console import Console

from rillkeeper.morning.report.terminal import columns, render
from tests.host.morning.sample_week import demo_report

COLUMNS = (60, 80, 120)


def squeezed(text: str) -> str:
    """The words alone, wherever lines were broken."""
    return " ".join(text.split())


def at_terminal(words: list[str], wide: int) -> list[str]:
    """The lines that a command shows on a pseudo-terminal of so many columns."""
    ours, theirs = os.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 50, wide, 0, 0))
    environment = {**os.environ, "TERM": "xterm", "NO_COLOR": "1"}
    environment.pop("COLUMNS", None)
    with subprocess.Popen(
        [sys.executable, "-m", "rillkeeper", *words],
        stdin=theirs,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
        env=environment,
    ) as running:
        os.close(theirs)
        shown = b""
        try:
            while part := os.read(ours, 65536):
                shown += part
        except OSError:  # The other end is closed.
            pass
    os.close(ours)
    assert running.returncode == 0
    return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", shown.decode()).splitlines()


@pytest.mark.parametrize("wide", COLUMNS)
def test_no_column_of_a_night_is_lost(wide: int) -> None:
    report = demo_report()
    console = Console(width=wide, no_color=True)
    with console.capture() as taken:
        console.print(render(report))
    lines = taken.get().splitlines()
    assert max(map(len, lines)) <= wide
    text = squeezed(taken.get())
    for night in report.nights:
        assert report.happened(night) in text
        for column in columns(report):
            assert column.cell(night) in text or column.cell(night) == "-"
    for column in columns(report):
        for word in column.heading.split():
            assert word in text, "and no heading is cut"
    for event in report.events:
        assert squeezed(event.told.seen) in text


@pytest.mark.parametrize("wide", COLUMNS)
def test_a_sizing_stays_within_the_terminal(wide: int) -> None:
    """Word for word the same at each width, but for where figures stand in a line of their own."""
    lines = at_terminal(["size"], wide)
    assert 0.8 * wide < max(map(len, lines)) <= wide
    assert "Let a second pair of eyes check the wiring" in squeezed("\n".join(lines))
    assert "battery home" in squeezed("\n".join(lines))


@pytest.mark.parametrize(("columns", "wide"), [("64", 64), ("", 100)])
def test_a_pipe_is_as_wide_as_the_environment_says(columns: str, wide: int) -> None:
    """POSIX: COLUMNS is the user's preferred width; without it a hundred."""
    done = subprocess.run(
        [sys.executable, "-m", "rillkeeper", "size"],
        env={**os.environ, "COLUMNS": columns},
        capture_output=True,
        text=True,
        check=True,
    )
    assert 0.8 * wide < max(map(len, done.stdout.splitlines())) <= wide
