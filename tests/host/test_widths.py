"""Commands on a pseudo-terminal of a given width, and into a pipe: no column is lost."""

import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest
from rich.console import Console

from rillkeeper.morning.report.terminal import columns as columns_of
from rillkeeper.morning.report.terminal import render
from rillkeeper.site.file import DEMO
from tests.host.morning.sample_week import demo_report
from tests.host.runlog.sample_log import sample

SAYS = "import sys; from rillkeeper.cli import main; sys.exit(main())"


def on_terminal(columns: int, *words: str) -> str:
    """What a command prints on a terminal so wide, without its colours."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    env = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "LINES")}
    child = subprocess.Popen(
        [sys.executable, "-c", SAYS, *words], stdin=theirs, stdout=theirs, stderr=theirs, env=env
    )
    os.close(theirs)
    said = b""
    try:
        while part := os.read(ours, 65536):
            said += part
    except OSError:  # Linux says so when the other side is closed.
        pass
    os.close(ours)
    assert child.wait() == 0, said
    return re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", said.decode()).replace("\r\n", "\n")


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_a_report_loses_no_column(columns: int, tmp_path: Path) -> None:
    log = tmp_path / "nights.log"
    log.write_text("\n".join(sample().lines) + "\n", encoding="ascii")
    text = on_terminal(columns, "report", str(log))
    assert max(map(len, text.splitlines())) <= columns
    assert "\N{HORIZONTAL ELLIPSIS}" not in text
    words = " ".join(text.split())
    for part in ("28 % given; line shut 22:05", "320", "11.98", "5.8", "left out: rain"):
        assert part in words


def test_a_sizing_goes_by_the_columns_of_the_environment() -> None:
    """In a pipe as well, where there is no terminal to ask; see POSIX, chapter 8.3."""
    env = os.environ | {"COLUMNS": "60"}
    command = [sys.executable, "-c", SAYS, "size", str(DEMO)]
    text = subprocess.run(command, env=env, capture_output=True, text=True, check=True).stdout
    lines = text.splitlines()
    assert 50 < max(map(len, lines)) <= 60
    assert "\N{HORIZONTAL ELLIPSIS}" not in text
    words = " ".join(text.split())
    # The coming nights: each cell of water has its unit.
    assert re.search(
        r"Night of +Water +Nights left +Season .*? Thu 9 Jul \d+ L 1\.\d \d+ L", words
    )
    for heading in ("lost", "to spare", "primes in", "longest"):
        assert heading in words


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_all_that_is_known_of_a_night_is_shown_at_each_width(columns: int) -> None:
    """With soil, driest quarter and nights left, which a replay knows."""
    report = demo_report()
    console = Console(width=columns, no_color=True)
    with console.capture() as taken:
        console.print(render(report))
    assert max(map(len, taken.get().splitlines())) <= columns
    words = " ".join(taken.get().split())
    for column in columns_of(report):
        assert all(word in words for word in column.heading.split()), "no heading is cut"
        for night in report.nights:
            assert column.cell(night) in words or column.cell(night) == "-"
    assert all(report.happened(night) in words for night in report.nights)
    assert all(" ".join(event.told.seen.split()) in words for event in report.events)
