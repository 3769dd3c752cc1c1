"""The whole firmware behind its serial line, the plant behind it, and a person at the knobs.

Nothing runs by itself: time passes while the desktop reads or sleeps, so that a proof of an hour
takes seconds, and comes out the same each time.
"""

import os
import socket
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Any

from rillkeeper.board.link import talk as talk_module
from rillkeeper.board.link.talk import Talk
from rillkeeper.board.proof.session import Session
from rillkeeper.errors import NoBoard
from rillkeeper.runlog.store import Archive
from rillsim.boards import contact
from rillsim.boards.sensors import PRESSURE
from rillsim.boards.virtualboard import VirtualBoard
from rillsim.faults.conditions import Conditions
from rillsim.plant import Plant
from rillsim.site import Site
from rillsim.timeline import Timeline

START_DAY = 20643
START_S = 13 * 3600
"""After noon: the night that begins has nothing behind it yet."""
NO_SYNC = "PRAGMA synchronous = OFF"
"""No archive of a test must outlive a power cut: waiting for the disk was a third of a walk."""
ANSWER_TICKS = 40
"""An answer is whole long before; a line that gets none must not let time run on."""


class HandPlant(Plant):
    """A plant whose conditions are turned by hand, at any moment."""

    def __init__(self, site: Site) -> None:
        self.now = Conditions()
        self.plugged = True
        """Whether the pump is in its plug."""
        self.cut_out = False
        """Whether the pump's own pressure switch has opened."""
        super().__init__(site, 1, start_s=START_S, start_day=START_DAY)
        self.timeline = HandTimeline(self, site)

    def turn(self, n: int, now: Conditions) -> None:
        """Let these conditions hold from tick ``n`` on."""
        self._halt(n)
        self.now = now
        self._happen(n)

    def rewire(self, n: int, *, plugged: bool, hand_on: bool) -> None:
        """The pump in its plug or not, the hand switch on or off.

        A hand switch that is off is, to all that hangs behind it, a fuse that has blown.
        """
        self._halt(n)
        self.plugged = plugged
        self.rig.fuse_blown = not hand_on
        self._apply(n)
        self._follow_pin(n)

    @property
    def hand_on(self) -> bool:
        return not self.rig.fuse_blown

    def _follow_pin(self, n: int) -> None:
        """A pump that is unplugged gets as little as one whose own switch is open."""
        own = self._switch_open
        self.cut_out = self.cut_out or own
        self._switch_open = own or not self.plugged
        super()._follow_pin(n)
        self._switch_open = own


class HandTimeline(Timeline):
    """Nothing is planned."""

    def __init__(self, plant: HandPlant, site: Site) -> None:
        super().__init__(site, START_S)
        self._plant = plant

    def conditions_at(self, n: int) -> Conditions:
        return self._plant.now


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
        self.plant = HandPlant(site)
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
        self.powered = True
        self.pumped_ticks = 0
        self.known_pa: float | None = None
        """What the transducer is held to, off the plant's own line."""
        self.sense_off = False
        """Whether the plug of the load-side sense is out."""
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
            counts = list(self.plant.read(self.n))
            if self.powered:
                self._spoil(counts)
                level = self.board.step(self.n, self.plant.clock.reading(self.n), counts)
                if self.board.clock_set:
                    self.plant.clock.set_to(self.n, *self.board.clock_set)
                if level != self.level:
                    self.level = level
                    self.plant.drive(self.n, level)
                self.pumped_ticks += level == self.plant.whole
            self.n += 1

    def later(self, seconds: float, act: Callable[[], None]) -> None:
        """Do something when so much time has passed."""
        self._later.append((self.n + round(10 * seconds), act))

    def clock_s(self) -> float:
        return self.n / 10.0

    def sleep(self, seconds: float) -> None:
        self.ticks(max(1, round(10 * seconds)))

    def _spoil(self, counts: list[int]) -> None:
        if self.known_pa is not None:
            expected = self.plant.sensors.expected(PRESSURE, self.known_pa)
            counts[1] = int(expected + 0.5) + self.n % 2
        if self.sense_off:
            counts[2] = 0

    # Knobs.

    def turn(self, **knobs: Any) -> None:
        """Change some of the plant's conditions."""
        self.plant.turn(self.n, replace(self.plant.now, **knobs))

    def bridge(self) -> None:
        """A wire from the battery side to the load side: over every relay's contact."""
        if self.plant.second is not None:
            self.plant.second.closed = True
        self.plant.contact.closed = True
        self.turn(contact_mode=contact.WELDED, second_contact_mode=contact.WELDED)

    def bridge_first(self) -> None:
        """A wire over the contact of the first relay."""
        self.plant.contact.closed = True
        self.turn(contact_mode=contact.WELDED)

    def plug(self, plugged: bool) -> None:
        """Put the pump into its plug, or take it out."""
        if plugged != self.plant.plugged:
            self.plant.rewire(self.n, plugged=plugged, hand_on=self.plant.hand_on)

    def hand_switch(self, on: bool) -> None:
        """Turn the hand switch."""
        self.plant.rewire(self.n, plugged=self.plant.plugged, hand_on=on)

    def unbridge(self) -> None:
        """The wire is off."""
        self.turn(contact_mode=contact.GOOD, second_contact_mode=contact.GOOD)

    def channel(self, channel: int, state: int) -> None:
        """Break or mend the wire of a channel."""
        wiring = {**self.plant.now.wiring, channel: (state, 1.0)}
        self.turn(wiring=wiring)

    def meter_v(self) -> float:
        """Volts at the board's terminals, as a meter with two decimals shows them."""
        return round(self.plant.truth(self.n).board_v, 2)

    def pull_power(self) -> None:
        """Battery and USB cable off."""
        self.board.power_off()
        self.powered = False
        self.level = 0
        self.plant.drive(self.n, 0)
        self.plant.clock.power_lost()
        try:
            while self.host.recv(65536):
                pass
        except BlockingIOError:
            pass

    def power_on(self) -> None:
        """Both back again."""
        self.powered = True

    def mend(self) -> None:
        """Everything as it was on the first day."""
        self.powered = True
        self.known_pa = None
        self.sense_off = False
        self.plant.turn(self.n, Conditions())
        self.plant.rewire(self.n, plugged=True, hand_on=True)

    def must_have_power(self) -> None:
        if not self.powered:
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
