"""One small test at a board: the pump is run by hand, readings are taken, and it is stopped.

Limits and rules are the board's own all the time; only its sets are held off. However a test
ends, the pump stands after it, and what the board wrote meanwhile is marked as of a test, so that
no night is judged by it.
"""

from collections.abc import Mapping
from math import log, nan
from typing import Protocol

from keeper import Settings
from keeper.hand import longest_minutes
from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.session import LOOK_S, Session
from rillkeeper.errors import BoardStopped, RillkeeperError
from rillkeeper.inquiry.why.small_tests.bank import (
    HELD_MS,
    SHUT_S,
    Readings,
    after_rest,
    against_shut_tap,
    conductance,
    out_of_bucket,
)
from rillkeeper.inquiry.why.small_tests.kept import KeptTests, Made
from rillkeeper.inquiry.why.small_tests.table import (
    BUCKET,
    HOUR_S,
    MINUTE_S,
    RESTED,
    SETTLE_S,
    SHUT,
    STAND_CLEAR,
    Ask,
    SmallTest,
)
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.runlog.runs import Run
from rillkeeper.runlog.store import Archive

MINUTES = 10
"""A run is asked for so long: time to walk to the hose's end with a meter or a bucket. The board
ends it then by itself, should the computer have died."""
SHORT_MIN = 3
"""The same where the person measures nothing."""
CHECK_S = 15.0
"""A start looks at its readings first."""
AFTER_S = HELD_MS / 1000.0 + 5.0
"""The decay that is judged has been written by then."""
_LAST_S = 10.0
_HOLD_S = 1800.0
"""Sets are held off anew so often while an hour passes."""
_STARTING = ("check", "prime")
AS_EVER = "Tap open, suction line on the pump: the pump runs half a minute as on any night first."


class Person(Protocol):
    """Somebody at the bank; a terminal, or a script in the tests."""

    def ready(self, text: str, hands: str) -> None:
        """Wait until it is so; ``hands`` does it on a virtual board."""

    def measure(self, ask: Ask) -> float:
        """A number that the person measures, in SI units."""

    def tell(self, text: str) -> None:
        """Say something, without waiting."""

    def watch(self, now: Status, left_s: float) -> None:
        """Show a look at the board."""


class Guide:
    """Takes one person through one test at one board."""

    def __init__(
        self, session: Session, archive: Archive, person: Person, test: SmallTest
    ) -> None:
        self._session = session
        self._archive = archive
        self._person = person
        self._test = test
        self._static_pa = float(session.settings["static_pa"])
        last = archive.last(session.who.board)
        self._spell, self._first = (last.spell, last.seq + 1) if last else (0, 0)

    def make(self) -> Made:
        """Make the test and keep it. Whatever ends it, the pump stands and the sets are on."""
        session = self._session
        now = session.status()
        if now.needs_a_person or now.state in ("lockout", "flat"):
            raise BoardStopped(now.needs_a_person or f"the board is {now.doing}")
        readings: Mapping[str, float] = {}
        try:
            session.hold_off()
            readings = self._readings()
        finally:
            try:
                session.make_safe()
            finally:
                made = self._keep(readings)
        if self._test.after:
            self._person.ready(self._test.after, self._test.hands_after)
        self._person.tell(STAND_CLEAR)
        session.end()
        return made

    def _readings(self) -> Readings:
        test, person = self._test, self._person
        found = {one.key: nan for one in test.readings}
        if test.way == BUCKET:
            person.ready(AS_EVER, "tap open suction line")
            before = self._settled()
            self._stop()
            person.ready(test.before, test.hands)
            after = self._settled()
            return found | out_of_bucket(before and before[0], after and after[0])
        person.ready(test.before, test.hands)
        if test.way == SHUT:
            return found | self._shut()
        if test.way == RESTED:
            return found | self._rested()
        return found | self._measured()

    def _measured(self) -> Readings:
        """What the person measures while the pump runs as ever."""
        before = self._settled(MINUTES)
        if before is None:
            return {}
        values = [self._person.measure(ask) for ask in self._test.asks]
        after = self._looks(_LAST_S)
        if after is None:
            raise RillkeeperError("the pump stopped before all was measured; make the test again")
        pressure_pa, board_v = ((one + two) / 2.0 for one, two in zip(before, after, strict=True))
        if self._test.name == "volts":
            posts_v, plug_v = values
            return {"drop": posts_v - plug_v, "feed": posts_v - board_v}
        if self._test.name == "throw":
            return {"throw": log(values[0])}
        litres_m3, seconds = values
        return {"conductance": conductance(litres_m3 / seconds, pressure_pa, self._static_pa)}

    def _shut(self) -> Readings:
        """Against the shut tap: the board stops by itself, and is told not to try again."""
        session = self._session
        session.start(1)
        session.wait_until(lambda seen: bool(seen.relay), CHECK_S)
        now = session.wait_until(lambda seen: not seen.relay, SHUT_S)
        session.make("stop")
        self._wait(AFTER_S)
        runs = self._runs()
        if now.relay or not runs:
            return {}
        return against_shut_tap(runs[-1], self._static_pa)

    def _rested(self) -> Readings:
        """Three starts: one to fill the line, one after a minute, one after an hour."""
        for pause_s in (0.0, MINUTE_S, HOUR_S):
            self._wait(pause_s)
            self._begin()
            self._stop()
        return after_rest(self._runs())

    def _begin(self, minutes: int = SHORT_MIN) -> bool:
        """Start, and wait for pressure; False where none came."""
        session = self._session
        longest = longest_minutes(Settings(session.settings))
        session.start(min(minutes, longest))
        patience_s = CHECK_S + session.settings["prime_ms"] / 1000.0
        now = session.wait_until(lambda seen: bool(seen.relay), CHECK_S)
        if now.state in _STARTING:
            now = session.wait_until(lambda seen: seen.state not in _STARTING, patience_s)
        return now.state == "run"

    def _settled(self, minutes: int = SHORT_MIN) -> tuple[float, float] | None:
        """Pressure [Pa] and voltage [V] of a run that has settled; None where it did not."""
        if not self._begin(minutes) or self._looks(SETTLE_S - _LAST_S) is None:
            return None
        return self._looks(_LAST_S)

    def _looks(self, seconds: float) -> tuple[float, float] | None:
        """Means over some seconds of pumping."""
        pressures: list[float] = []
        volts: list[float] = []
        session = self._session
        end_s = session.clock_s() + seconds
        while session.clock_s() < end_s or not volts:
            now = session.status()
            if now.state != "run":
                return None
            self._person.watch(now, end_s - session.clock_s())
            pressures.append(now.pressure_pa or 0)
            volts.append((now.battery_mv or 0) / 1000.0)
            session.sleep(LOOK_S)
        return sum(pressures) / len(pressures), sum(volts) / len(volts)

    def _stop(self) -> None:
        session = self._session
        if session.status().state not in ("idle", "done"):
            session.make("stop")
        session.wait_until(lambda seen: not seen.relay, CHECK_S)

    def _wait(self, seconds: float) -> None:
        """Let time pass; sets stay off."""
        session = self._session
        end_s = session.clock_s() + seconds
        held_s = session.clock_s()
        while (left_s := end_s - session.clock_s()) > 0.0:
            self._person.watch(session.status(), left_s)
            if session.clock_s() - held_s > _HOLD_S:
                session.hold_off()
                held_s = session.clock_s()
            session.sleep(min(left_s, max(LOOK_S, left_s / 60.0)))

    def _lines(self) -> list[str]:
        self._session.new_entries()
        last = self._archive.last(self._session.who.board)
        self._spell = last.spell if last else 0
        rows = self._archive.rows(
            "SELECT line FROM record WHERE board = ? AND spell = ? AND seq >= ? ORDER BY seq",
            self._session.who.board,
            self._spell,
            self._first,
        )
        return [row[0] for row in rows]

    def _runs(self) -> tuple[Run, ...]:
        return nights_of(read_log(self._lines())).runs

    def _keep(self, readings: Mapping[str, float]) -> Made:
        """Into the archive, with the span of its records."""
        entries = read_log(self._lines()).entries
        after = entries[-1].seq + 1 if entries else self._first
        night = entries[-1].night if entries else 0
        told = {key: None if value != value else value for key, value in readings.items()}
        made = Made(self._test.name, self._session.now_text(), night, told)
        span = (self._spell, self._first, after)
        KeptTests(self._archive).add(self._session.who.board, made, span)
        return made
