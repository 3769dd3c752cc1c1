"""What a board says about itself: who it is, what it does, reads and keeps, its time."""

from dataclasses import dataclass
from datetime import date, datetime

from keeper.settings import SCHEMA
from keeper.standstill import KINDS
from rillkeeper.board.link.talk import Answer, NoAnswer, Talk
from rillkeeper.errors import RillkeeperError
from rillkeeper.runlog.rule_text import CLOSED_WORDS, STATE_WORDS, word_of

LOG_VERSION = SETTINGS_VERSION = 1


@dataclass(frozen=True)
class Identity:
    """Who a board is."""

    board: str
    firmware: str


@dataclass(frozen=True)
class LastStop:
    """What stopped last: a set, a run by hand, or the board."""

    cause: str
    """A cause of the log, or a rule, by its name; empty where nothing has stopped yet."""
    set: int | None
    """0: a run by hand; None: neither that nor a set."""
    at: datetime | None
    """None where the clock was not to be believed."""


@dataclass(frozen=True)
class Held:
    """What holds sets off, and for how long still."""

    until: date | None
    """The night before which a person wants no sets, by the day on which it begins."""
    proof_s: int
    rain_s: int
    """A set that comes due within that time is left out."""
    pause_s: int
    """Of a soak, or of the rest before another try."""


@dataclass(frozen=True)
class NextSet:
    """The set that comes next."""

    set: int | None
    at: datetime | None
    why: str
    """A word of the board's (device/status.py): what is in its way, or why none comes."""


@dataclass(frozen=True)
class Progress:
    """The set, or the run by hand, that is being given or pauses."""

    set: int
    run: int
    runs: int
    given_s: int
    given_ml: int
    target_s: int | None
    target_ml: int | None
    """One of the two, as the set asks for minutes or for water."""


@dataclass(frozen=True)
class TwoRelays:
    """Two relays in series."""

    stuck: str
    """"first" or "second": does not open; empty where both do."""
    proved: date | None
    """When both were last seen to open."""


@dataclass(frozen=True)
class Meter:
    """A flow meter at the pump's outlet."""

    pulses: int
    """Since the board was switched on; after 2**30 of them it counts from 0 again."""
    stands_still: bool
    """The board has seen pressure, and too few pulses."""


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
    last_stop: LastStop | None = None
    """None where the firmware is older and does not say, as all that follows."""
    held: Held | None = None
    next_set: NextSet | None = None
    progress: Progress | None = None
    """None too where nothing is being given."""
    nights_left: float | None = None
    two_relays: TwoRelays | None = None
    """None where only one is fitted."""
    meter: Meter | None = None
    """None where none is fitted."""
    pressure_bad: int = 0
    """Not 0: the pressure is the last good one, and this is wrong with its channel
    (keeper.sense.QUALITIES); 0 too where the firmware is older and does not say."""
    battery_bad: int = 0
    """The same of the battery's voltage."""
    current_ma: int | None = None
    """The pump's; None where no current sensor is fitted."""
    current_bad: int = 0
    """As with the others."""

    @property
    def tells_why(self) -> bool:
        """Whether the firmware says what holds sets off and what comes next."""
        return self.held is not None

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
                "the pump works although it is switched off, and the board cannot stop it: turn "
                f"the hand switch off, then take the negative clamp off; {how}"
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
        why, held, following = _last_stop(answer), _held(answer), _next_set(answer)
        nights, current = answer.words("nights"), answer.words("current")
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
            last_stop=why,
            held=held,
            next_set=following,
            progress=_progress(answer),
            nights_left=int(nights["left_tenths"]) / 10 if "left_tenths" in nights else None,
            two_relays=_two_relays(answer),
            meter=_meter(answer),
            pressure_bad=reading("pressure_bad") or 0,
            battery_bad=reading("battery_bad") or 0,
            current_ma=int(current["ma"]) if current else None,
            current_bad=int(current["bad"]) if current else 0,
        )
    except (KeyError, ValueError):
        raise _strange(talk, "status") from None


def _last_stop(answer: Answer) -> LastStop | None:
    words = answer.words("why")
    if "cause" not in words:
        return None
    cause = "" if words["cause"] == _NONE else words["cause"].replace("_", " ")
    return LastStop(cause, _number(words["set"]), _time(words["at"]))


def _held(answer: Answer) -> Held | None:
    words = answer.words("held")
    if "until" not in words:
        return None
    until = None if words["until"] == _NONE else date.fromisoformat(words["until"])
    return Held(until, int(words["proof_s"]), int(words["rain_s"]), int(words["pause_s"]))


def _next_set(answer: Answer) -> NextSet | None:
    words = answer.words("next")
    if "why" not in words:
        return None
    return NextSet(_number(words["set"]), _time(words["at"]), words["why"])


def _progress(answer: Answer) -> Progress | None:
    words = answer.words("progress")
    if words.get("set", _NONE) == _NONE:
        return None
    run, runs, given_s, given_ml = (
        int(words[name]) for name in ("run", "runs", "given_s", "given_ml")
    )
    target_s, target_ml = (
        int(words[name]) if name in words else None for name in ("target_s", "target_ml")
    )
    return Progress(int(words["set"]), run, runs, given_s, given_ml, target_s, target_ml)


def _two_relays(answer: Answer) -> TwoRelays | None:
    words = answer.words("relays")
    if "stuck" not in words:
        return None
    stuck, proved = words["stuck"], words["proved"]
    return TwoRelays(
        "" if stuck == _NONE else stuck, None if proved == _NONE else date.fromisoformat(proved)
    )


def _meter(answer: Answer) -> Meter | None:
    words = answer.words("meter")
    if "pulses" not in words:
        return None
    return Meter(int(words["pulses"]), words["bad"] != "0")


def _number(word: str) -> int | None:
    return None if word == _NONE else int(word)


def _time(word: str) -> datetime | None:
    return None if word == _NONE else datetime.fromisoformat(word.replace("_", " "))


_NONE = "none"
"""The board's word for what there is not."""


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
