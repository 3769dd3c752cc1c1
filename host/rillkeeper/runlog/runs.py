"""One run out of its records: the start, what came while the pump ran, and the decay after it.

What the log does not tell, and what a sensor that is not fitted would tell, is None, never zero.
"""

from dataclasses import dataclass, field

from keeper.lines import date_text, time_text
from keeper.records import CAUSE_RULE, CAUSES
from keeper.rules import ACTIONS, NAME, RULES
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry

RESTED_FROM_S = 2 * 3600.0
"""A shorter pause is like a soak: the battery has not come up again, nor the line drained."""

_DAY_S = 86400
_OF_A_RUN = ("primed", "learned", "minute", "stop", "trip", "warn")


@dataclass(frozen=True)
class LearnedSupply:
    """What the board learned of its supply, some seconds after prime."""

    resistance_mohm: int
    rest_mv: int
    loaded_mv: int
    current_ma: int
    """Reckoned from the pressure where the board has no current channel."""
    pressure_pa: int | None


@dataclass(frozen=True)
class Minute:
    """The means of one minute of pumping."""

    entry: Entry
    since_s: float
    """Middle of the minute, from the closing of the relay."""
    pressure_pa: int | None
    battery_mv: int | None
    current_ma: int
    flow_ml_min: int | None
    left_mah: int


@dataclass(frozen=True)
class Stop:
    """The end of a run, just before the relay opened."""

    entry: Entry
    cause: str
    """A cause of the board's list, or the name of a rule."""
    on_s: int
    pressure_pa: int | None
    battery_mv: int | None
    used_mah: int
    given_ml: int | None


@dataclass(frozen=True)
class Decay:
    """One look some time after the stop."""

    after_ms: int
    pressure_pa: int | None
    battery_mv: int | None


@dataclass(frozen=True)
class Judgement:
    """A rule of the board that spoke: it stopped something, or it warned."""

    rule: str
    value: int
    limit: int
    action: str
    """An action of the board's list; "warn" for a warning."""


@dataclass(frozen=True)
class Run:
    """One closing of the relay."""

    start: Entry
    place: int
    """In the log, from 0."""
    again: bool
    """Whether the board tried the same run again after a stop."""
    when: str
    """Date and time by the board's clock; says so where that is not to be believed."""
    battery: int
    """Counts the times that a battery was put on, or charged where it stands, up to here."""
    stands: bool
    """Whether it was on the board before it was charged: or its reading alone went up."""
    pause_s: float | None
    """Since the pump stopped before; None for the first run and where the clock is not known."""
    rest_mv: int | None
    rest_pa: int | None
    air_c: float | None
    primed: Entry | None
    prime_ms: int | None
    """None where no pressure came."""
    primed_pa: int | None
    primed_mv: int | None
    learned: LearnedSupply | None
    minutes: tuple[Minute, ...]
    stop: Stop | None
    """None where the records end before the run did."""
    running: bool
    """The log ends with it: when it was read the pump still ran, as far as it tells."""
    decay: tuple[Decay, ...]
    trips: tuple[Judgement, ...]
    warns: tuple[Judgement, ...]

    @property
    def night(self) -> int:
        """Day number of the noon at which its night began."""
        return self.start.night

    @property
    def set(self) -> int:
        return self.start["set"]

    @property
    def run(self) -> int:
        """Of the set, from 1."""
        return self.start["run"]

    @property
    def left_mah(self) -> int:
        """What the board counted in the battery at the start."""
        return self.start["left_mah"]

    @property
    def rested(self) -> bool:
        """Whether the lines had hours to drain: the first run of a set, none just before it."""
        short = self.pause_s is not None and self.pause_s < RESTED_FROM_S
        return self.run == 1 and not self.again and not short

    @property
    def rules(self) -> tuple[str, ...]:
        """The rules that spoke in this run."""
        return tuple(one.rule for one in (*self.trips, *self.warns))

    @property
    def run_s(self) -> int:
        """How long it lasted, as far as the log tells."""
        return self.stop.on_s if self.stop else 60 * len(self.minutes)

    @property
    def given_ml(self) -> int:
        """What it gave, as the board reckons it: by the pressure, else by its settings."""
        if self.stop:
            return self.stop.entry["given_ml"]
        return sum(minute.entry["flow_ml_min"] for minute in self.minutes)

    @property
    def last(self) -> Entry:
        """The last record of it, but for the decay."""
        if self.stop:
            return self.stop.entry
        return self.minutes[-1].entry if self.minutes else self.primed or self.start

    @property
    def pressures_pa(self) -> list[int]:
        """Minute means; where it was too short for one, the single looks."""
        stop_pa = self.stop.pressure_pa if self.stop else None
        looks = [minute.pressure_pa for minute in self.minutes] or [self.primed_pa, stop_pa]
        return [look for look in looks if look is not None]

    @property
    def loaded_mv(self) -> list[int]:
        """The battery while pumping, in the same way."""
        stop_mv = self.stop.battery_mv if self.stop else None
        looks = [minute.battery_mv for minute in self.minutes] or [self.primed_mv, stop_mv]
        return [look for look in looks if look is not None]


@dataclass
class OpenRun:
    """The records of one run while they are being read."""

    start: Entry
    battery: int
    stands: bool
    again: bool
    stop_before: Entry | None
    parts: list[Entry] = field(default_factory=list)

    @property
    def stopped(self) -> bool:
        """Whether its end has been read."""
        return any(part.kind == "stop" for part in self.parts)

    def takes(self, entry: Entry) -> bool:
        """Whether a record belongs to this run: after its end only the decay does."""
        if self.stopped:
            return entry.kind == "decay"
        return entry.kind in _OF_A_RUN


def run_of(read: OpenRun, place: int, fitted: Fitted, *, running: bool = False) -> Run:
    """The run that these records tell of."""
    start, parts = read.start, read.parts
    named = {part.kind: part for part in parts}
    primed, learned, stop = (named.get(kind) for kind in ("primed", "learned", "stop"))
    minutes = [part for part in parts if part.kind == "minute"]
    rest_pa = start.numbers.get("rest_pa")
    return Run(
        start=start,
        place=place,
        again=read.again,
        when=_when(start),
        battery=read.battery,
        stands=read.stands,
        pause_s=_pause_s(read),
        rest_mv=fitted.mv(start["rest_mv"]),
        rest_pa=None if rest_pa is None else fitted.pa(rest_pa),
        air_c=start["frost_dc"] / 10.0 if fitted.frost else None,
        primed=primed,
        prime_ms=primed["prime_ms"] if primed and fitted.sees_water else None,
        primed_pa=fitted.pa(primed["pressure_pa"]) if primed else None,
        primed_mv=fitted.mv(primed["battery_mv"]) if primed else None,
        learned=_learned(learned, fitted) if learned and fitted.battery else None,
        minutes=tuple(
            _minute(start, minute, number, fitted) for number, minute in enumerate(minutes)
        ),
        stop=_stop(stop, fitted) if stop else None,
        running=running and stop is None,
        decay=tuple(
            Decay(part["after_ms"], fitted.pa(part["pressure_pa"]), fitted.mv(part["battery_mv"]))
            for part in parts
            if part.kind == "decay"
        ),
        trips=tuple(judgement_of(part) for part in parts if part.kind == "trip"),
        warns=tuple(judgement_of(part) for part in parts if part.kind == "warn"),
    )


def judgement_of(entry: Entry) -> Judgement:
    """A trip or a warning in names."""
    action = entry.numbers.get("action", 0)
    word = ACTIONS[action] if 0 <= action < len(ACTIONS) else f"action {action}"
    return Judgement(rule_name(entry["rule"]), entry["value"], entry["limit"], word)


def rule_name(rule: int) -> str:
    """The name of a rule; a later board may have more."""
    return RULES[rule][NAME] if 0 <= rule < len(RULES) else f"rule {rule}"


def cause_name(cause: int) -> str:
    """The name of a cause: of the board's list, or of the rule behind it.

    >>> cause_name(0), cause_name(17), cause_name(999)
    ('complete', 'dead head', 'rule 983')
    """
    if 0 <= cause < len(CAUSES):
        return CAUSES[cause]
    return rule_name(cause - CAUSE_RULE)


def _learned(entry: Entry, fitted: Fitted) -> LearnedSupply:
    pressure = entry.numbers.get("pressure_pa")
    return LearnedSupply(
        entry["resistance_mohm"],
        entry["rest_mv"],
        entry["loaded_mv"],
        entry["current_ma"],
        None if pressure is None else fitted.pa(pressure),
    )


def _minute(start: Entry, entry: Entry, number: int, fitted: Fitted) -> Minute:
    """A minute's record is written at its end; a clock that was set meanwhile does not count."""
    since_s = _between_s(start, entry)
    if not 60 * number < since_s < 60 * (number + 4):
        since_s = 60 * (number + 1)
    return Minute(
        entry,
        since_s - 30.0,
        fitted.pa(entry["pressure_pa"]),
        fitted.mv(entry["battery_mv"]),
        entry["current_ma"],
        entry["flow_ml_min"] if fitted.sees_water else None,
        entry["left_mah"],
    )


def _stop(entry: Entry, fitted: Fitted) -> Stop:
    return Stop(
        entry,
        cause_name(entry["cause"]),
        entry["on_s"],
        fitted.pa(entry["pressure_pa"]),
        fitted.mv(entry["battery_mv"]),
        entry["used_mah"],
        entry["given_ml"] if fitted.sees_water else None,
    )


def _pause_s(read: OpenRun) -> float | None:
    before = read.stop_before
    if before is None or before.trusted != read.start.trusted:
        return None
    pause_s = _between_s(before, read.start)
    return float(pause_s) if pause_s >= 0 else None


def _between_s(first: Entry, then: Entry) -> int:
    return (then.day - first.day) * _DAY_S + then.second - first.second


def _when(entry: Entry) -> str:
    if not entry.trusted:
        return "time not known"
    return f"{date_text(entry.day)} {time_text(entry.second)}"
