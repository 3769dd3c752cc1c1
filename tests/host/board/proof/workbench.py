"""The whole firmware behind its serial line, the plant behind it, and a person at the knobs.

Nothing runs by itself: time passes while the desktop reads or sleeps, so that a proof of an hour
takes seconds, and comes out the same each time.
"""

import os
import socket
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Any

from rillkeeper.board.link import talk as talk_module
from rillkeeper.board.link.talk import Talk
from rillkeeper.board.proof.session import Session
from rillkeeper.board.virtual.site_hands import SiteHands
from rillkeeper.errors import NoBoard
from rillkeeper.runlog.store import Archive
from rillsim.boards.virtualboard import VirtualBoard
from rillsim.faults.conditions import Conditions
from rillsim.handled import Handled, HandledPlant
from rillsim.site import Site
from rillsim.timeline import Timeline

START_DAY = 20643
START_S = 13 * 3600
"""After noon: the night that begins has nothing behind it yet."""
NO_SYNC = "PRAGMA synchronous = OFF"
"""No archive of a test must outlive a power cut: waiting for the disk was a third of a walk."""
ANSWER_TICKS = 40
"""An answer is whole long before; a line that gets none must not let time run on."""


class BenchPlant(HandledPlant):
    """A plant whose conditions are turned at any moment, besides what hands do to it."""

    def __init__(self, site: Site) -> None:
        self.now = Conditions()
        super().__init__(site, 1, start_s=START_S, start_day=START_DAY)
        self.timeline = BenchTimeline(self, site)

    def turn(self, n: int, now: Conditions) -> None:
        """Let these conditions hold from tick ``n`` on."""
        self.now = now
        self.handle(n, self.handled)


class BenchTimeline(Timeline):
    """Nothing is planned."""

    def __init__(self, plant: BenchPlant, site: Site) -> None:
        super().__init__(site, START_S)
        self._plant = plant

    def conditions_at(self, n: int) -> Conditions:
        return deepcopy(self._plant.now)


class BenchPort:
    """The desktop's end of the line; reading it lets the board live."""

    def __init__(self, bench: "Workbench") -> None:
        self.name = "the bench"
        self._bench = bench
        self._waits = 0

    def write(self, data: bytes) -> None:
        self._bench.must_have_power()
        self._bench.host.send(data)
        self._waits = ANSWER_TICKS if data.strip() else 0

    def read(self) -> bytes:
        self._bench.must_have_power()
        if self._waits:
            self._waits -= 1
            self._bench.ticks(1)
        try:
            data = self._bench.host.recv(65536)
        except BlockingIOError:
            return b""
        if data.rstrip().rpartition(b"\n")[2].startswith((b"ok", b"no")):
            self._waits = 0
        return data


class Workbench:
    """Board, plant, meter and knobs; a context manager."""

    def __init__(
        self,
        micropython: Path,
        firmware: Path,
        folder: Path,
        site: Site,
        settings: dict[str, int],
    ) -> None:
        talk_module.SETTLE_S = 0.0
        self.host, self._end = socket.socketpair()
        self.host.setblocking(False)
        self.plant = BenchPlant(site)
        self.hands = SiteHands(site, attached=lambda: True)
        self.hands.join(self.plant)
        self.board = VirtualBoard(
            micropython,
            firmware,
            folder,
            settings,
            serial=self._end.fileno(),
            clock_chip=site.board.clock_backed,
        )
        self.board.usb_power = True
        self.settings = settings
        self.n = 0
        self.level = 0
        self.pumped_ticks = 0
        self._dark = False
        self._later: list[tuple[int, Callable[[], None]]] = []

    def __enter__(self) -> "Workbench":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.board.__exit__(kind, error, trace)
        self.host.close()
        self._end.close()

    # Time.

    def ticks(self, number: int) -> None:
        """Let ticks pass."""
        for _ in range(number):
            due = [act for at, act in self._later if at <= self.n]
            self._later = [(at, act) for at, act in self._later if at > self.n]
            for act in due:
                act()
            self.hands.act(self.n)
            counts = self.plant.read(self.n)
            if self.plant.board_powered:
                self._step(counts)
            else:
                self._lose_power()
            self.n += 1

    def _step(self, counts: list[int]) -> None:
        if self._dark:
            self._dark = False
            self.board.power_back()
        level = self.board.step(self.n, self.plant.clock.reading(self.n), counts)
        if self.board.clock_set:
            self.plant.clock.set_to(self.n, *self.board.clock_set)
        if level != self.level:
            self.level = level
            self.plant.drive(self.n, level)
        self.pumped_ticks += level == self.plant.whole

    def _lose_power(self) -> None:
        """Nobody answers; what was said meanwhile is lost."""
        self._dark = True
        self.board.dark(self.n)
        self.level = 0
        try:
            while self.host.recv(65536):
                pass
        except BlockingIOError:
            pass

    def later(self, seconds: float, act: Callable[[], None]) -> None:
        """Do something when so much time has passed."""
        self._later.append((self.n + round(10 * seconds), act))

    def clock_s(self) -> float:
        return self.n / 10.0

    def sleep(self, seconds: float) -> None:
        self.ticks(max(1, round(10 * seconds)))

    # Knobs.

    def turn(self, **knobs: Any) -> None:
        """Change some of the plant's conditions."""
        self.plant.turn(self.n, replace(self.plant.now, **knobs))

    def meter_v(self) -> float:
        """Volts at the board's terminals, as a meter with two decimals shows them."""
        return round(self.plant.truth(self.n).board_v, 2)

    def pull_power(self) -> None:
        """The board's own fuse and the USB cable out."""
        self.hands.do("power", "out")
        self._lose_power()

    def power_on(self) -> None:
        """Both back again."""
        self.hands.do("power", "in")

    def mend(self) -> None:
        """Everything as it was on the first day."""
        self.plant.now = Conditions()
        self.plant.handle(self.n, Handled())

    def must_have_power(self) -> None:
        if not self.plant.board_powered:
            raise NoBoard("the bench: the board was unplugged")

    # The desktop.

    def connect(self) -> Talk:
        self.must_have_power()
        return Talk(BenchPort(self))  # type: ignore[arg-type]

    def time(self) -> datetime:
        noon = datetime(1970, 1, 1) + timedelta(days=START_DAY, seconds=START_S)
        return noon + timedelta(seconds=self.clock_s())

    def session(self, archive: Archive) -> Session:
        archive.hold(NO_SYNC)
        return Session(
            self.connect,
            archive,
            clock_s=self.clock_s,
            sleep=self.sleep,
            standard_time=self.time,
        )


def data_of(folder: Path) -> Path:
    """A folder for one board's flash."""
    made = folder / f"board{len(os.listdir(folder))}"
    made.mkdir()
    return made
