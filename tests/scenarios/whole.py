"""Plays a story on the whole firmware: what a person asks for goes over its serial line.

Slow beside the quick board, so for what that has not: lines, their order and their answers.
"""

import os
import pty
import select
import tty
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from types import TracebackType
from typing import Any

from keeper import crc, lines, records
from rillsim.boards.boardclock import DAY_S
from rillsim.boards.virtualboard import VirtualBoard
from rillsim.plant import Plant
from rillsim.replay import NIGHT_TICKS, NOON_S, TICKS_PER_S, replay
from tests.interpreters import rigs
from tests.patience import CEILING_S

from .person import ASKED, NEVER, TRIAL_KEY, Deed
from .scenario import Scenario
from .stage import Played, played_of, within_reach

_AROUND_N = 100
"""A host is plugged in so long before something is asked for, and out so long after."""
_MOMENT_S = 0.002
_TAKES_A_NUMBER = ("run", "hold", "battery")


class LineBoard(VirtualBoard):
    """A virtual board with a person at its line."""

    def __init__(
        self, scenario: Scenario, plants: list[Plant], *args: Any, **options: Any
    ) -> None:
        self._host, port = pty.openpty()
        tty.setraw(port)
        os.set_blocking(self._host, False)
        super().__init__(*args, scenario.settings, serial=port, **options)
        self._port = port
        self._plants = plants
        self._settings = dict(scenario.settings)
        end = Deed(scenario.nights * NIGHT_TICKS - 600, "status")
        self._moments = [
            (n, list(deeds)) for n, deeds in groupby((*scenario.deeds, end), key=lambda one: one.n)
        ]
        self._heard = b""
        self._fresh = -1
        self.now_n = 0
        self.answers: list[str] = []
        """The last word that was answered at each moment."""
        self.state = ""
        """As the status says a minute before the last noon."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        super().__exit__(kind, error, trace)
        os.close(self._host)
        os.close(self._port)

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        self.now_n = n
        if self._moments:
            self._attend(n, *self._moments[0])
        level = super().step(n, clock, counts)
        if self.usb_power:
            self._listen()
        return level

    def nap_ticks(self) -> int:
        at_n = self._moments[0][0] if self._moments else NEVER
        turns = [n for n in (at_n - _AROUND_N, at_n, at_n + _AROUND_N) if n > self.now_n]
        return max(1, min(super().nap_ticks(), *(n - self.now_n for n in turns), NEVER))

    def _attend(self, n: int, at_n: int, deeds: list[Deed]) -> None:
        """Plug a host in, ask for the fresh number, say what is asked for, plug it out."""
        if at_n - _AROUND_N <= n < at_n + _AROUND_N and not self.usb_power:
            self.usb_power = True
            self._type("fresh\n")
        elif n == at_n:
            words = self._answers()
            self._fresh = int(words[-1].partition("=")[2])
            self._heard = b""
            self._type("".join(self._lines(deeds)))
        elif n >= at_n + _AROUND_N:
            self.usb_power = False
            words = self._answers()
            if deeds[0].what == "status":
                self.state = words[0].split(" ")[1].partition("=")[2]
            else:
                self.answers.append(words[-1])
            self._heard = b""
            self._moments.pop(0)

    def _lines(self, deeds: list[Deed]) -> Iterator[str]:
        for deed in deeds:
            for text in self._texts(deed):
                if text == "status":
                    yield "status\n"
                    continue
                yield crc.sealed(f"{text} #{self._fresh}") + "\n"
                self._fresh += 1

    def _texts(self, deed: Deed) -> Iterator[str]:
        if deed.what == "apply":
            wanted = dict(deed.settings)
            yield from (f"set {k} {v}" for k, v in wanted.items() if v != self._settings[k])
            self._settings = wanted
            yield "apply"
        elif deed.what == "try":
            if deed.value:
                yield f"set {TRIAL_KEY} {self._settings[TRIAL_KEY] - 1000}"
            yield f"try {60 * deed.value:.0f}"
        elif deed.what == "set-clock":
            day, second = divmod(round(self._plants[0].clock.true_s(deed.n)), DAY_S)
            yield f"set-clock {lines.date_text(day)} {lines.time_text(second)}"
        elif deed.what in _TAKES_A_NUMBER:
            yield f"{deed.what} {deed.value:.0f}"
        elif deed.what in (*ASKED, "restart", "status"):
            yield deed.what
        else:
            raise ValueError(f"{deed.what}: nobody does that over the line")

    def _type(self, text: str) -> None:
        os.write(self._host, text.encode())
        assert select.select([self._port], [], [], CEILING_S)[0]

    def _listen(self) -> None:
        select.select([self._host], [], [], _MOMENT_S)
        try:
            self._heard += os.read(self._host, 65536)
        except BlockingIOError:
            pass

    def _answers(self) -> list[str]:
        """Whole lines heard, without their marks."""
        texts = [crc.unsealed(line) for line in self._heard.decode().split("\r\n")]
        found = [text for text in texts if text]
        assert found, f"no answer at tick {self.now_n}"
        return found


def play_whole(scenario: Scenario, micropython: Path, folder: Path) -> tuple[Played, list[str]]:
    """Replay it; returns what came of it, and the answers."""
    with (
        within_reach() as plants,
        LineBoard(scenario, plants, micropython, rigs.FIRMWARE, folder) as board,
    ):
        week = replay(
            scenario.site,
            scenario.settings,
            nights=scenario.nights,
            seed=scenario.seed,
            board=board,
        )
    told: list[int] = []
    for line in week.log:
        row = lines.parse_line(line)
        since_s = (row[records.DAY] - week.start_day) * DAY_S + row[records.SECOND] - NOON_S
        told.append(max(since_s * TICKS_PER_S, told[-1] if told else 0))
    return played_of(week, told, [(0, board.state)]), board.answers
