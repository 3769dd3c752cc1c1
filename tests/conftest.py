"""What all tests share: the tools they may need, and no skip goes unseen in CI."""

import gc
import os
import signal
import sys
import threading
from collections.abc import Callable, Generator
from pathlib import Path

import pytest
from click.testing import Result

from tests import effort, outside

IN_CI = os.environ.get("CI") == "true"

# Scripts for other interpreters: they import what CPython does not have.
collect_ignore = ["bench/scripts", "interpreters/scripts"]

effort.load_profile()

# readline, which pytest imports, tells the size of its own screen to all that is started after.
for _name in ("COLUMNS", "LINES"):
    os.environ.pop(_name, None)

# A shell makes what it starts in the background deaf to Ctrl-C, and all that this starts too.
if threading.current_thread() is threading.main_thread():
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _told(result: Result) -> str:
    """What a failed assertion shows of a command: also what it said last."""
    return f"<Result {result.exit_code}: {result.output[-160:]!r}>"


Result.__repr__ = _told  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def need() -> Callable[[str], Path]:
    """`need("chromium")`: the path of a program, or a skip that says what is missing."""
    return outside.need


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What shares what it runs is a long chain on one worker: begun last, the other would wait."""
    items.sort(key=lambda item: item.get_closest_marker("xdist_group") is None)


def pytest_collection_finish() -> None:
    """The collector of garbage looks rarely, and not at what the tests themselves are.

    Thousands of collected tests were otherwise walked through again and again.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)


def fail_if_skipped(report: pytest.TestReport | pytest.CollectReport) -> None:
    """In CI a test that did not run has not passed."""
    if IN_CI and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"{reason}\nWith CI=true a skip is a failure."


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    fail_if_skipped(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    fail_if_skipped(report)
    return report


@pytest.hookimpl(wrapper=True, trylast=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    """A test that is marked `no_cover` runs at full speed.

    In a worker of xdist pytest-cov 7.1 has two tracers, one above the other: it stops the upper
    one, and the lower one goes on, at five times the cost.
    """
    if item.get_closest_marker("no_cover") is None:
        return (yield)
    tracer = sys.gettrace()
    sys.settrace(None)
    try:
        return (yield)
    finally:
        sys.settrace(tracer)
