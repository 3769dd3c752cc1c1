"""A virtual board at a desk, in a thread: it hurries to an hour, and there its time stands nearly
still for as long as somebody looks at it."""

import threading
from pathlib import Path

from rillkeeper.board.flash.firmware import default_folder
from rillkeeper.board.link.ports import announced
from rillkeeper.board.virtual.paced_board import PacedBoard
from rillkeeper.board.virtual.pseudo_terminal import Terminal
from rillkeeper.commands.diagnosis import remember_site
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import load_site
from rillkeeper.units import parse_clock
from rillsim.boards.virtualboard import VIRTUAL, VirtualBoard
from rillsim.garden.weather import DAY_S
from rillsim.replay import NOON_S, TICKS_PER_S, replay
from rillsim.site import FaultSpec
from tests.patience import CEILING_S

NIGHTS = 5
HURRY = 1e9
LOOKING_S = 0.05
"""Of a tick, while somebody looks: twice as fast as a clock."""
NUMBER = VIRTUAL + bytes(4)


class Over(Exception):
    """The test is done."""


class DeskTerminal(Terminal):
    """Pulled out while the board hurries: one that is powered by USB naps for moments only."""

    looked_at = False

    @property
    def attached(self) -> bool:
        return self.looked_at and super().attached


class HeldBoard(PacedBoard):
    """Hurries to a tick, and lives on slowly from there."""

    def __init__(self, board: VirtualBoard, terminal: DeskTerminal) -> None:
        super().__init__(board, terminal, HURRY)
        self.terminal = terminal
        self.held_n = 0
        self.now_n = -1
        self.there = threading.Event()
        self.over = False

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        if self.over:
            raise Over
        self.now_n = n
        self.terminal.looked_at = n >= self.held_n
        if n >= self.held_n:
            self.there.set()
            self.terminal.carry(LOOKING_S)
        return super().step(n, clock, counts)

    def nap_ticks(self) -> int:
        if self.now_n >= self.held_n:
            return 1
        return min(super().nap_ticks(), self.held_n - self.now_n)


class Desk:
    """The board of a site file, in front of the plant; a context manager."""

    def __init__(
        self, micropython: Path, folder: Path, site_file: Path, *faults: FaultSpec
    ) -> None:
        site = load_site(str(site_file))
        settings = settings_of(site)
        remember_site(None, NUMBER.hex(), site, str(site_file), None)
        self._terminal = DeskTerminal()
        self._announced = announced(self._terminal.path)
        virtual = VirtualBoard(
            micropython,
            default_folder(),
            folder,
            settings,
            clock_chip=site.board.clock_backed,
            serial=self._terminal.board_end,
            console=self._terminal,
            unique_id=NUMBER,
        )
        self._virtual = virtual
        self.board = HeldBoard(virtual, self._terminal)
        self._ended: list[BaseException] = []

        def live() -> None:
            try:
                replay(site, settings, nights=NIGHTS, seed=1, faults=faults, board=self.board)
            except BaseException as error:
                self._ended.append(error)
            self.board.there.set()

        self._thread = threading.Thread(target=live, daemon=True)

    def __enter__(self) -> "Desk":
        self._announced.__enter__()
        self._virtual.__enter__()
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.board.over = True
        self._thread.join(CEILING_S)
        self._virtual.__exit__(None, None, None)
        self._announced.__exit__(None, None, None)
        self._terminal.__exit__(None, None, None)

    def go_to(self, day: int, time: str) -> None:
        """To an hour of a day; day 0 is the one at whose noon it begins."""
        board = self.board
        board.there.clear()
        board.held_n = (day * DAY_S + parse_clock(time) - NOON_S) * TICKS_PER_S
        assert board.there.wait(CEILING_S), "it never came"
        assert not self._ended, self._ended
