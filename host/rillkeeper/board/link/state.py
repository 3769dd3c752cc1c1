"""What a board says about itself: who it is, what it does, reads and keeps, its time."""

from dataclasses import dataclass
from datetime import datetime

from keeper.settings import SCHEMA
from keeper.standstill import KINDS
from rillkeeper.board.link.talk import NoAnswer, Talk
from rillkeeper.errors import RillkeeperError
from rillkeeper.runlog.rule_text import CLOSED_WORDS, STATE_WORDS, word_of

LOG_VERSION = SETTINGS_VERSION = 1


@dataclass(frozen=True)
class Identity:
    """Who a board is."""

    board: str
    firmware: str


@dataclass(frozen=True)
class Status:
    """What a board does and reads at one moment."""

    state: str
    relay: int
    trouble: str
    """Why it does not pump; empty where nothing is wrong."""
    pressure_pa: int | None
    battery_mv: int | None
    left_mah: int | None
    """None without settings, as the readings before."""
    load_on: int | None
    contacts: int
    unasked: int
    """How the pump came to work although it is told to stand (keeper.standstill); 0: it stands."""
    oldest: int
    next: int
    waiting: int
    lost: int
    log_failed: bool
    slowest_ms: int
    passed_over: int
    relay_failed: bool

    @property
    def doing(self) -> str:
        """The state in words."""
        return STATE_WORDS.get(self.state, self.state)

    @property
    def records(self) -> int:
        """How many records it has made, on its flash or not."""
        return self.next + self.waiting + self.lost

    @property
    def needs_a_person(self) -> str:
        """Why it will not pump until a person has acted; empty where it will."""
        if self.trouble:
            return f"the board does not pump: {self.trouble}"
        if self.unasked:
            how = word_of(KINDS, CLOSED_WORDS, self.unasked)
            return (
                "the pump works although it is told to stand, and the board cannot stop it: take "
                f"the battery clamp off; {how}"
            )
        if self.state == "lockout":
            return (
                "the board is locked out; the log and `rillkeeper report` say why; when you have "
                "looked: rillkeeper clear, or hold its button for three seconds"
            )
        return ""


@dataclass(frozen=True)
class BoardTime:
    """A board's clock at one moment."""

    now: datetime | None
    """Local standard time; None where it was never set."""
    believed: bool
    source: str
    """"chip" or "own"."""


def identity(talk: Talk) -> Identity:
    """Ask a board who it is. Raises RillkeeperError where it is of a later version."""
    words = talk.ask("id", like="id board=").words("id")
    try:
        found = Identity(words["board"], words["firmware"])
        versions = int(words["log"]), int(words["settings"])
    except (KeyError, ValueError):
        raise _strange(talk, "id") from None
    if versions != (LOG_VERSION, SETTINGS_VERSION):
        raise RillkeeperError(
            f"{talk.port.name}: board {found.board} has firmware {found.firmware}, whose log or "
            "settings this rillkeeper does not know; update the older of the two"
        )
    return found


def status(talk: Talk) -> Status:
    """Ask a board what it does and reads."""
    answer = talk.ask("status", like="status state=")
    what, reads = answer.words("status"), answer.words("reads")
    log, loop = answer.words("log"), answer.words("loop")

    def reading(name: str) -> int | None:
        return int(reads[name]) if name in reads else None

    try:
        return Status(
            state=what["state"],
            relay=int(what["relay"]),
            trouble="" if what["trouble"] == "none" else what["trouble"].replace("_", " "),
            pressure_pa=reading("pressure_pa"),
            battery_mv=reading("battery_mv"),
            left_mah=reading("left_mah"),
            load_on=reading("load_on"),
            contacts=reading("contacts") or 0,
            unasked=reading("unasked") or 0,
            oldest=int(log["oldest"]),
            next=int(log["next"]),
            waiting=int(log["waiting"]),
            lost=int(log["lost"]),
            log_failed=log["failed"] != "0",
            slowest_ms=int(loop["slowest_ms"]),
            passed_over=int(loop["passed_over"]),
            relay_failed=loop["relay_failed"] != "0",
        )
    except (KeyError, ValueError):
        raise _strange(talk, "status") from None


def board_time(talk: Talk) -> BoardTime:
    """Ask a board what time it has."""
    answer = talk.ask("clock", like="clock ")
    try:
        _, date, time, trust, source = answer.lines[0].split(" ")
        known = trust == "ok"
        now = datetime.fromisoformat(f"{date} {time}") if known else None
        return BoardTime(now, known, source.removeprefix("by="))
    except (IndexError, ValueError):
        raise _strange(talk, "clock") from None


def settings(talk: Talk) -> dict[str, int]:
    """Ask a board for its settings; empty where it has none."""
    for _ in range(3):
        answer = talk.ask("settings", like="")
        words = [line.split(" ") for line in answer.lines]
        try:
            pairs = [row[1].split("=") for row in words if row[0] == "setting"]
            values = {key: int(value) for key, value in pairs}
        except (IndexError, ValueError):
            continue
        if not values and not answer.garbled and answer.end == "ok":
            return {}
        if all(row[0] in values for row in SCHEMA):
            return values
    raise _strange(talk, "settings")


def _strange(talk: Talk, question: str) -> NoAnswer:
    return NoAnswer(f"{talk.port.name}: the answer to `{question}` is torn; line too noisy?")
