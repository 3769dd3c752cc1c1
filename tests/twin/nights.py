"""The same nights twice: the control package alone, and the whole firmware on a virtual board."""

from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import mkdtemp
from time import perf_counter

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.boards.virtualboard import VirtualBoard
from rillsim.faults.fittings import board_with, needs_of
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, Site
from tests.interpreters import rigs

LIFTED_S = 60.0
"""A battery that is lifted comes back after this long."""


@dataclass(frozen=True)
class Twins:
    """Both replays, and the real seconds that they took."""

    alone: Week
    whole: Week
    alone_s: float
    whole_s: float
    steps: int

    def difference(self) -> str:
        """The first record that differs; empty where the logs are the same."""
        alone, whole = self.alone.log, self.whole.log
        for here, there in zip(alone, whole, strict=False):
            if here != there:
                return f"keeper:   {here}\nfirmware: {there}"
        return "" if len(alone) == len(whole) else f"{len(alone)} records and {len(whole)}"


def fault_in_the_first_night(name: str) -> FaultSpec:
    """Five minutes into the first set, as bad as it gets."""
    duration_s = LIFTED_S if name == "battery_lifted" else 0.0
    return FaultSpec(name, night=1, offset_s=300.0, duration_s=duration_s)


def site_for(fault: str, site: Site) -> Site:
    """The site, with a second relay or a flow meter where that is to fail."""
    return replace(site, board=board_with(site.board, needs_of(fault)))


def twins(
    micropython: Path,
    folder: Path,
    nights: int,
    faults: tuple[FaultSpec, ...] = (),
    *,
    first_ms: int = 0,
    firmware: Path = rigs.FIRMWARE,
    site: Site | None = None,
) -> Twins:
    """Both replays, of the demo site where no other is given."""
    site = site or demo_site()
    settings = settings_of(site)
    began = perf_counter()
    alone = replay(site, settings, nights=nights, seed=1, faults=faults, first_ms=first_ms)
    between = perf_counter()
    new = Path(mkdtemp(dir=folder))  # A board takes up the flash that it finds.
    chip = site.board.clock_backed
    with VirtualBoard(
        micropython, firmware, new, settings, first_ms=first_ms, clock_chip=chip
    ) as board:
        whole = replay(site, settings, nights=nights, seed=1, faults=faults, board=board)
        ended = perf_counter()
        if board.restarts:
            raise AssertionError(f"the board reset itself: {board.printed()}")
        return Twins(alone, whole, between - began, ended - between, board.steps)
