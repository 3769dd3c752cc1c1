"""A workbench for each test that asks for one."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import read_site
from rillsim.site import Site
from tests.host.board.proof.workbench import Workbench, data_of
from tests.interpreters import rigs
from tests.scenarios.scenario import SITE

MakeBench = Callable[..., Workbench]


@cache
def site_with(pressure_switch: bool = False, **board: Any) -> Site:
    """The site of the scenarios with other things fitted on its board.

    A pump with a pressure switch of its own opens it well below what pump and outlet stand.
    """
    site = read_site(SITE.read_text(encoding="utf-8"), SITE.name)
    if pressure_switch:
        stands_pa = 1.25 * site.pump.shutoff_pa
        pump = replace(site.pump, pressure_switch=True, max_pressure_pa=stands_pa)
        site = replace(site, pump=pump)
    return replace(site, board=replace(site.board, **board))


@cache
def settings_with(**fitted: Any) -> dict[str, int]:
    """The settings of that site; to derive them takes longer than most steps."""
    return settings_of(site_with(**fitted))


@pytest.fixture(scope="module")
def make_bench(
    need: Callable[[str], Path], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[MakeBench]:
    micropython = need("micropython")
    folder = tmp_path_factory.mktemp("benches")
    with ExitStack() as stack:

        def make(
            firmware: Path = rigs.FIRMWARE, told: dict[str, Any] | None = None, **board: Any
        ) -> Workbench:
            """``told``: what the board's settings say is fitted, where that is not so."""
            site, settings = site_with(**board), settings_with(**(told or board))
            bench = Workbench(micropython, firmware, data_of(folder), site, dict(settings))
            return stack.enter_context(bench)

        yield make
