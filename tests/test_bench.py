"""The bench runs and fills its table; how fast anything is is not judged here."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.bench import (
    desk,
    firmware_size,
    interpreters,
    log_rate,
    loop_time,
    pump_hour,
    sizes,
    tick,
    walk,
    week,
    week_beside,
)
from tests.bench.table import Row, ratio_row, table_lines
from tests.bench.timing import Times, take_turns
from tests.outside import find


def figures(rows: list[Row]) -> list[str]:
    """The table's lines under the rule, after a look at all of them."""
    lines = table_lines(rows)
    assert len(lines) == len(rows) + 2
    assert set(lines[1]) == {"-", " "}
    return lines[2:]


@pytest.mark.epanet
def test_week_against_epanet() -> None:
    pytest.importorskip("wntr", reason="wntr is missing; pip install wntr==1.5.0 six")
    total, each, water = figures(week.rows(nights=1, minutes=3, repeats=1))
    assert "1,800 pumping ticks; EPANET 181 steps" in total
    assert "at most" not in total
    assert "at most 4.0x" in each
    assert " us " in each
    assert " L " in water


@pytest.mark.epanet
def test_sizes_against_epanet() -> None:
    """Accuracy is no matter of the machine: this one is judged."""
    pytest.importorskip("wntr", reason="wntr is missing; pip install wntr==1.5.0 six")
    points, whole, off = figures(sizes.rows(sites=2, repeats=1))
    assert " a second " in points
    assert " a second " in whole
    assert off.endswith("met")
    assert not off.endswith("NOT MET")


@pytest.mark.browser
def test_the_desk() -> None:
    pytest.importorskip("starlette", reason="starlette is missing; pip install -e '.[desk]'")
    lines = figures(desk.rows(count=6))
    assert "6 moves" in lines[0]
    assert all(" ms at the 95th percentile" in line for line in lines)
    assert len(lines) == (3 if find("chromium") else 2)


def test_tick_against_control() -> None:
    (line,) = figures(tick.rows(minutes=3, repeats=1))
    assert line.count(" us ") == 2
    assert "at most 1.0x" in line


def test_pump_hour_against_lsoda() -> None:
    """Accuracy is no matter of the machine: this one is judged."""
    rows = pump_hour.rows(seconds=120, repeats=1)
    pressure, charge, tight, loose = figures(rows)
    assert pressure.endswith("met")
    assert charge.endswith("met")
    assert not pressure.endswith("NOT MET")
    assert not charge.endswith("NOT MET")
    assert "1e-08" in tight
    assert "1e-03" in loose


@pytest.mark.interpreter
def test_interpreters() -> None:
    rows = interpreters.rows(nights=1, repeats=1)
    lines = figures(rows)
    assert [line.split(",")[1].split()[0] for line in lines] == [
        "CPython",
        "MicroPython",
        "MicroPython",
    ]
    assert "/s" in lines[0]


@pytest.mark.interpreter
def test_what_the_firmware_takes() -> None:
    """Bytes are no matter of the machine: these are judged."""
    lines = figures(firmware_size.rows())
    assert [line.endswith("met") for line in lines].count(True) == 4
    assert not any(line.endswith("NOT MET") for line in lines)


def test_the_board_on_its_line_and_flash() -> None:
    for rows in (log_rate.rows(records=400), loop_time.rows(seconds=300)):
        assert all(line.endswith("  met") for line in figures(rows))


def test_the_week_beside_itself() -> None:
    """The log is no matter of the machine: this one is judged."""
    if not (Path(__file__).parents[1] / ".git").exists():
        pytest.skip("not a checkout of git: there is no other revision")
    time, log = figures(week_beside.rows("HEAD", nights=1, repeats=1))
    assert "at most 1.15x" in time
    assert log.endswith("  met")


def test_verdicts_are_said() -> None:
    rows = [
        ratio_row("fast", "1 s", "2 s", 0.5, 1.0),
        ratio_row("slow", "2 s", "1 s", 2.0, 1.0),
        Row("plain", "3 s"),
    ]
    fast, slow, plain = figures(rows)
    assert fast.endswith("0.50x   at most 1.0x  met")
    assert slow.endswith("2.00x   at most 1.0x  NOT MET")
    assert plain.endswith("-")


def test_times() -> None:
    assert Times((1.0, 4.0, 2.0)).middle_s == 2.0
    assert Times((1.0, 4.0, 2.0)).spread_percent == 150.0
    order: list[str] = []
    times = take_turns([lambda: order.append("a"), lambda: order.append("b")], 3)
    assert "".join(order) == "ababab"
    assert [len(one.seconds) for one in times] == [3, 3]


@pytest.mark.interpreter
def test_walk_on_32_bits(need: Callable[[str], Path]) -> None:
    """What it counts is no matter of the machine: this one is judged."""
    need("node")
    need("wasm")
    (line,) = figures(walk.rows(steps=4000))
    assert "4,000 steps through" in line
    assert line.endswith("  met")


@pytest.mark.parametrize("module", ["tests.bench", "tests.campaign", "tests.twin", "tests.power"])
def test_it_runs_where_the_boards_packages_are_not_installed(module: str) -> None:
    """As `make` starts it: only the installed packages are on the path."""
    root = Path(__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-c", f"import {module}.__main__"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(root / "sim"), str(root / "host")])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
