"""What all tests share: the tools they may need, and no skip goes unseen in CI."""

import os
from collections.abc import Callable, Generator
from pathlib import Path

import pytest
from hypothesis import settings

from tests import outside

IN_CI = os.environ.get("CI") == "true"

# Scripts for other interpreters: they import what CPython does not have.
collect_ignore = ["interpreters/scripts"]

# One machine's speed must not decide a verdict; in CI the same examples are tried every time.
settings.register_profile("ci", deadline=None, derandomize=True)
settings.register_profile("here", deadline=None)
settings.load_profile("ci" if IN_CI else "here")


@pytest.fixture(scope="session")
def need() -> Callable[[str], Path]:
    """`need("chromium")`: the path of a program, or a skip that says what is missing."""
    return outside.need


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
