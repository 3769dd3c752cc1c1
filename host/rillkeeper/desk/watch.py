"""A board that is watched: one thread holds its port, looks once a second, and does as told.

It is the only writer to the port while it holds it. What a person asks for is done between two
looks, also while the log is read.
"""

from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from pathlib import Path
from queue import Empty, Queue
from threading import Event, Lock, Thread
from time import monotonic
from typing import Any

from keeper.hand import MINUTES_MAX
from rillkeeper.board.link import state
from rillkeeper.board.link import status_words as words
from rillkeeper.board.link.fetch import Fetch
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import held
from rillkeeper.board.link.state import Status
from rillkeeper.board.link.talk import Talk
from rillkeeper.commands import status as told
from rillkeeper.commands.run import halt, start
from rillkeeper.commands.tell import CLEARABLE, NIGHTS_MAX, clear_from, hold_for
from rillkeeper.desk.night import limits_shown
from rillkeeper.display_units import Shown, day_text
from rillkeeper.errors import RillkeeperError
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.runlog import sentences
from rillkeeper.runlog.boards import Boards
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.store import Archive

WHO = "rillkeeper desk"
LOOK_S = 1.0
SAMPLES = 300
NIGHTS = 3
FIRST_S = 20.0
"""A board answers within a second; a port that is none is given up within this."""
DONE_S = 60.0
"""No wish takes longer; a start waits for water some fifteen seconds."""


class Watcher:
    """The board that the desk watches, if any."""

    def __init__(self, archive: Path) -> None:
        self._archive = archive
        self._lock = Lock()
        self._watch: _Watch | None = None

    def open(self, port: str) -> dict[str, Any]:
        """Watch the board behind a port in the place of any other."""
        with self._lock:
            self._let_go()
            self._watch = _Watch(port, self._archive)
            return self._watch.begun()

    def close(self) -> None:
        """Give the port back."""
        with self._lock:
            self._let_go()

    def look(self) -> dict[str, Any]:
        """What was seen last; nothing where no board is watched."""
        watch = self._watch
        return watch.seen if watch else {}

    def do(self, what: str, number: int) -> str:
        """Do as a person asks, and say what came of it. Raises RillkeeperError."""
        watch = self._watch
        if watch is None:
            raise RillkeeperError("no board is watched; choose its port first")
        return watch.do(wish_of(what, number))

    def _let_go(self) -> None:
        if self._watch:
            self._watch.end()
            self._watch = None


Wish = Callable[[Talk, Callable[[], bool]], str]
"""Is given the talk, and what tells whether the next wish already waits."""


def wish_of(what: str, number: int) -> Wish:
    """What is to be done, as the command line does it. Raises RillkeeperError for all else."""
    if what == "run" and 1 <= number <= MINUTES_MAX:
        return lambda talk, hurry: start(talk, number, hurry)
    if what == "hold" and 0 <= number <= NIGHTS_MAX:
        return lambda talk, _: hold_for(talk, number)
    if what == "stop":
        return lambda talk, _: halt(talk)
    if what == "clear":
        return lambda talk, _: _clear(talk)
    raise RillkeeperError(
        f"{what}: run for 1 to {MINUTES_MAX} min, hold for 0 to {NIGHTS_MAX} nights, stop or clear"
    )


def _clear(talk: Talk) -> str:
    before = state.status(talk)
    if before.state not in CLEARABLE:
        return f"there is nothing to clear: the board is {before.doing}"
    return clear_from(talk, before)


class _Watch:
    """One port, from when it is opened to when it is given back."""

    def __init__(self, port: str, archive: Path) -> None:
        self.seen: dict[str, Any] = {"port": port, "problem": ""}
        self._port = port
        self._archive = archive
        self._jobs: Queue[tuple[Wish, Future[str]] | None] = Queue()
        self._samples: deque[tuple[float, float | None, float | None]] = deque(maxlen=SAMPLES)
        self._ended = False
        self._first = Event()
        self._thread = Thread(target=self._run, daemon=True)
        self._thread.start()

    def begun(self) -> dict[str, Any]:
        """The first look, or why there is none."""
        self._first.wait(FIRST_S)
        return self.seen

    def end(self) -> None:
        """Stop looking, and give the port back."""
        self._ended = True
        self._jobs.put(None)
        self._thread.join(FIRST_S)

    def do(self, wish: Wish) -> str:
        """Have it done by the thread that has the port."""
        done: Future[str] = Future()
        self._jobs.put((wish, done))
        if self._ended or not self._thread.is_alive():
            raise RillkeeperError(self.seen["problem"] or "the board is not watched any more")
        try:
            return done.result(DONE_S)
        except TimeoutError:
            raise RillkeeperError(f"{self._port}: nothing came of it; look at the board") from None

    def _run(self) -> None:
        try:
            with Port(self._port) as opened, held(self._port, WHO):
                self._watch(Talk(opened))
        except RillkeeperError as error:
            self.seen = {**self.seen, "problem": str(error)}
        except Exception as error:  # The page is told, whatever it was; the port is given back.
            self.seen = {**self.seen, "problem": f"{type(error).__name__}: {error}"}
        finally:
            self._ended = True
            self._first.set()
            with suppress(Empty):
                while job := self._jobs.get_nowait():
                    job[1].set_exception(RillkeeperError(self.seen["problem"] or "let go"))

    def _watch(self, talk: Talk) -> None:
        who = state.identity(talk)
        now = state.status(talk)
        settings = state.settings(talk) if now.left_mah is not None else {}
        fitted = Fitted.of_settings(settings) if settings else Fitted()
        shown = Shown()
        base = {
            "port": self._port,
            "problem": "",
            "board": who.board,
            "called": who.board,
            "firmware": who.firmware,
            "unit": shown.unit("pressure"),
            "limits": limits_shown(settings, shown) if settings else {},
            "has": {"pressure": fitted.pressure, "volts": fitted.battery},
            "nights": [],
        }
        begun_s, records = monotonic(), -1
        while not self._ended:
            now, time = state.status(talk), state.board_time(talk)
            self._sample(monotonic() - begun_s, now, fitted, shown)
            base = {**base, **_look(now, told.time_text(time), fitted)}
            self.seen = {**base, "samples": list(self._samples)}
            self._first.set()
            if now.records != records:
                records = now.records
                base = {**base, **self._nights(talk, who.board, fitted)}
                self.seen = {**base, "samples": list(self._samples)}
            self._do_jobs(talk, LOOK_S)

    def _sample(self, at_s: float, now: Status, fitted: Fitted, shown: Shown) -> None:
        pressure = volts = None
        if now.pressure_pa is not None and fitted.pressure and not now.pressure_bad:
            pressure = round(shown.number(now.pressure_pa, "pressure"), 3)
        if now.battery_mv is not None and fitted.battery and not now.battery_bad:
            volts = now.battery_mv / 1000.0
        self._samples.append((round(at_s, 1), pressure, volts))

    def _do_jobs(self, talk: Talk, patience_s: float) -> None:
        """What was asked for meanwhile; waits so long for the first wish."""
        wait_s = patience_s
        while not self._ended:
            try:
                job = self._jobs.get(timeout=wait_s) if wait_s > 0.0 else self._jobs.get_nowait()
            except Empty:
                return
            if job is None:
                return
            wait_s = 0.0
            wish, done = job
            try:
                done.set_result(wish(talk, lambda: not self._jobs.empty()))
            except Exception as error:
                done.set_exception(error)

    def _nights(self, talk: Talk, board: str, fitted: Fitted) -> dict[str, Any]:
        """Read what is new of the log into the archive, and tell the last nights."""
        try:
            with Archive.renewed(self._archive) as archive:
                for _ in Fetch(talk, archive, board).read():
                    self._do_jobs(talk, 0.0)
                    if self._ended:
                        break
                boards = Boards(archive)
                boards.was_read(board)
                called = boards.of(board).called
                lines = archive.lines(board)
        except RillkeeperError as error:
            return {"log_problem": str(error)}
        return {"called": called, "log_problem": "", "nights": _told(report_of(lines))}


def _look(now: Status, clock: str, fitted: Fitted) -> dict[str, Any]:
    """One look in words, as `rillkeeper status` has it."""
    rows = [("relay", told.relay_text(now, fitted))]
    rows = [*told.told_of(now, fitted), *rows, *told.readings_of(now, fitted)]
    if now.two_relays:
        rows.append(("two relays", words.two_relays_words(now.two_relays)))
    if now.meter:
        rows.append(("flow meter", words.meter_words(now.meter)))
    return {
        "clock": clock,
        "state": now.state,
        "does": words.doing_words(now),
        "calls": words.calls_a_person(now),
        "pumps": bool(now.relay),
        "can_clear": now.state in CLEARABLE,
        "rows": [[name, text] for name, text in rows],
    }


def _told(report: Report) -> list[dict[str, Any]]:
    """The last nights, each with what is worth a line; the last first."""
    found = []
    for night in reversed(report.nights[-NIGHTS:]):
        told_of_it = [
            {
                "level": sentences.LEVELS[event.told.level],
                "when": event.when,
                "words": f"{event.told.seen} {event.told.did} {event.told.look}".strip(),
            }
            for event in report.events_of(night)
        ]
        found.append(
            {"day": day_text(night.day), "words": report.happened(night), "events": told_of_it}
        )
    return found
