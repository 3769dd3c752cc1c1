"""The nights of a log, noon to noon: what was asked for, what ran, what it took, what was said.

This is the one reader of a log's records: report, nights left, `why` and `learn` all read here.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from keeper.checked import MINUTES, SETS
from keeper.plan import HAND
from keeper.records import CAUSE_RULE, RAINED
from keeper.settings import UNITS
from rillkeeper.runlog.batteries import batteries_put_on, charged_in_place
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry, RunLog
from rillkeeper.runlog.runs import (
    Judgement,
    OpenRun,
    Run,
    cause_name,
    judgement_of,
    run_of,
)
from rillsim.site import BoardSpec

WHOLE_SHARE = 0.97
"""So much of a set counts as all of it: the last second of a run is not worth a word."""


@dataclass
class SetTally:
    """One set of one night."""

    unit: int
    amount: int
    runs: int
    target: int
    """Seconds for a set by minutes, else millilitres; 0 where it was not taken up."""
    given_s: int = 0
    given_ml: int = 0
    closed: bool = False
    """Whether the board wrote what was given in the end."""

    @property
    def given(self) -> int:
        """In the unit of the target."""
        return self.given_s if self.unit == MINUTES else self.given_ml


@dataclass(frozen=True)
class Night:
    """What the log tells of a night; None and empty stand for what it does not tell."""

    day: int
    """Day number of the noon at which it began."""
    entries: tuple[Entry, ...] = ()
    """Its records, but for the one that closed the night before it."""
    closing: Entry | None = None
    """The record that closed it, at the noon after it or when the power came back."""
    sets: tuple[SetTally, ...] = ()
    runs: tuple[Run, ...] = ()
    trips: tuple[Judgement, ...] = ()
    """Of checks that refused, and of rules that spoke while the pump stood."""
    warns: tuple[Judgement, ...] = ()
    battery_put_on: bool = False
    """A battery was put on, or charged where it stands, before or in this night."""

    @property
    def known(self) -> bool:
        """Whether the log tells anything of it."""
        return bool(self.entries or self.closing)

    @property
    def acted(self) -> bool:
        """Whether the pump ran, or the board said why it did not."""
        if self.runs or self.trips or self.warns or self.battery_put_on:
            return True
        return any(entry.kind in ("skip", "short") for entry in self.entries)

    @property
    def meter_stood(self) -> bool:
        """Whether the board found its flow meter at a standstill."""
        return any("bad meter" in run.rules for run in self.runs)

    @property
    def skips(self) -> tuple[str, ...]:
        """Causes for which a set was left out."""
        return tuple(cause_name(one["cause"]) for one in self.entries if one.kind == "skip")

    @property
    def run_s(self) -> int | None:
        """By the runs, or by the closing record where that knows of more: a board that was
        restarted in mid-run has forgotten some of it, a log with gaps too."""
        ran = sum(run.run_s for run in self.runs)
        return max(ran, self.closing["run_s"] if self.closing else 0) if self.known else None

    @property
    def given_ml(self) -> int | None:
        """In the same way."""
        gave = sum(run.given_ml for run in self.runs)
        return max(gave, self.closing["given_ml"] if self.closing else 0) if self.known else None

    @property
    def running(self) -> bool:
        """The log ends in the middle of one of its runs."""
        return any(run.running for run in self.runs)

    @property
    def depth_um(self) -> int | None:
        """As the board reckons it: litres over the wetted area."""
        depths = [entry["depth_um"] for entry in self.entries if entry.kind == "given"]
        return sum(depths) if depths or (self.known and not self.runs) else None

    @property
    def pressure_pa(self) -> float | None:
        """Mean while pumping."""
        means = [minute.pressure_pa for run in self.runs for minute in run.minutes]
        return _mean(means or [look for run in self.runs for look in run.pressures_pa])

    @property
    def battery_mv(self) -> int | None:
        """Lowest under load."""
        means = [minute.battery_mv for run in self.runs for minute in run.minutes]
        looks = means or [look for run in self.runs for look in run.loaded_mv]
        return min((look for look in looks if look is not None), default=None)

    @property
    def flow_ml_min(self) -> float | None:
        return _mean([minute.flow_ml_min for run in self.runs for minute in run.minutes])

    @property
    def prime_s(self) -> float | None:
        """From the first start to pressure."""
        return next((run.primed["prime_ms"] / 1000 for run in self.runs if run.primed), None)

    @property
    def used_mah(self) -> int | None:
        """From noon to noon."""
        if self.closing:
            return self.closing["used_mah"]
        used = [entry["used_mah"] for entry in self.entries if entry.kind == "stop"]
        return used[-1] if used else None

    @property
    def left_mah(self) -> int | None:
        if self.closing:
            return self.closing["left_mah"]
        left = [entry["left_mah"] for entry in self.entries if "left_mah" in entry.numbers]
        return left[-1] if left else None

    @property
    def nights_tenths(self) -> int | None:
        """Nights left by the board's own count."""
        return self.closing["nights_tenths"] if self.closing else None

    @property
    def rained(self) -> bool:
        """A set was left out or ended because of rain."""
        return any(
            entry.kind in ("skip", "given") and entry["cause"] == RAINED for entry in self.entries
        )

    @property
    def share(self) -> float | None:
        """How much of what was asked for was given, 0 to 1; None where nothing was."""
        shares = [min(1.0, s.given / s.target) if s.target else 0.0 for s in self.sets]
        return sum(shares) / len(shares) if shares else None

    @property
    def whole(self) -> bool:
        """Whether the garden got all that was asked for."""
        return self.share is not None and self.share >= WHOLE_SHARE


@dataclass(frozen=True)
class NightLog:
    """A log by its nights and runs."""

    nights: tuple[Night, ...]
    runs: tuple[Run, ...]
    """In the order in which they were written."""

    @property
    def first_night(self) -> int | None:
        """The day number of the first night."""
        return self.nights[0].day if self.nights else None

    @property
    def acted(self) -> "NightLog":
        """Only the nights in which the pump ran, or the board said why it did not."""
        return replace(self, nights=tuple(night for night in self.nights if night.acted))


def nights_of(
    log: RunLog,
    board: BoardSpec | None = None,
    settings: dict[str, int] | None = None,
    days: Sequence[int] | None = None,
    *,
    fitted: Fitted | None = None,
    complete: bool = False,
) -> NightLog:
    """What a log tells, night by night.

    Parameters
    ----------
    log : RunLog
        Its records
    board : BoardSpec, optional
        Says which sensors are fitted: the readings of one that is not are None
    settings : dict, optional
        The board's: what a set asks for that was left out before it was ever taken up
    days : sequence of int, optional
        Day numbers of the nights to show; those with records where not given
    fitted : Fitted, optional
        In the place of ``board``
    complete : bool
        The board wrote no more than this, as in a replay: a run without an end has lost its power

    >>> from rillkeeper.runlog.lines import read_log
    >>> nights_of(read_log([])).nights
    ()
    """
    reader = _Reader(fitted or Fitted.of(board), log.entries, complete)
    asked = {**sets_of_settings(settings or {}), **sets_of_log(log.entries)}
    closings = _closings(log.entries)
    nights = tuple(
        reader.nights.get(day, _Reading()).night(day, closings.get(day), asked)
        for day in (reader.nights if days is None else days)
    )
    return NightLog(nights, tuple(reader.runs))


def sets_of_settings(settings: dict[str, int]) -> dict[int, SetTally]:
    """What each set asks for by the board's settings."""
    found = {}
    for number in range(1, SETS + 1):
        unit = settings.get(f"set{number}_unit", 0)
        if unit:
            amount = settings.get(f"set{number}_amount", 0)
            found[number] = SetTally(unit, amount, settings.get(f"set{number}_runs", 1), 0)
    return found


def sets_of_log(entries: Sequence[Entry]) -> dict[int, SetTally]:
    """What each set asked for when it was last taken up."""
    return {
        entry["set"]: SetTally(entry["unit"], entry["amount"], entry["runs"], 0)
        for entry in entries
        if entry.kind == "set" and entry["set"] != HAND and 0 < entry["unit"] < len(UNITS)
    }


@dataclass
class _Reading:
    """One night while it is being read."""

    entries: list[Entry] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    trips: list[Judgement] = field(default_factory=list)
    warns: list[Judgement] = field(default_factory=list)
    battery_put_on: bool = False

    def night(self, day: int, closing: Entry | None, asked: dict[int, SetTally]) -> Night:
        return Night(
            day=day,
            entries=tuple(self.entries),
            closing=closing,
            sets=_sets(self.entries, self.runs, asked),
            runs=tuple(self.runs),
            trips=tuple(self.trips),
            warns=tuple(self.warns),
            battery_put_on=self.battery_put_on,
        )


class _Reader:
    """Walks through the records of a log once. Runs whose clock was not to be believed stand
    where they were written."""

    def __init__(self, fitted: Fitted, entries: Sequence[Entry], complete: bool) -> None:
        self.fitted = fitted
        self.nights: dict[int, _Reading] = {}
        self.runs: list[Run] = []
        self._open: OpenRun | None = None
        self._last_stop: Entry | None = None
        self._tripped_run: tuple[int, int] | None = None
        self._batteries = 0
        self._set_nights: dict[int, int] = {}
        self._put_on = {id(entry) for entry in batteries_put_on(entries)}
        self._in_place = {id(entry) for entry in charged_in_place(entries)}
        self._stands = False
        for entry in entries:
            self.take(entry)
        self.close(running=not complete)

    def take(self, entry: Entry) -> None:
        """The next record."""
        kind = entry.kind
        if kind == "night":
            # It closes the night before the one that it is written in.
            self._tripped_run = None
            return
        if kind == "set":
            self._set_nights[entry["set"]] = entry.night
        # A set that goes on over noon, or is cut by it, belongs to the night in which it began.
        began = self._set_nights.pop(entry["set"], entry.night) if kind == "given" else entry.night
        self._night(began).entries.append(entry)
        if kind == "start":
            self.close()
            again = self._tripped_run == (entry["set"], entry["run"])
            self._open = OpenRun(entry, self._batteries, self._stands, again, self._last_stop)
        elif self._open is not None and self._open.takes(entry):
            self._open.parts.append(entry)
            if kind == "stop":
                self._stopped(self._open.start, entry)
        else:
            self._aside(entry)

    def close(self, *, running: bool = False) -> None:
        """No more records belong to the run that is open, if one is."""
        if self._open is not None:
            run = run_of(self._open, len(self.runs), self.fitted, running=running)
            self.runs.append(run)
            self._night(run.night).runs.append(run)
            self._open = None

    def _stopped(self, start: Entry, stop: Entry) -> None:
        self._last_stop = stop
        tripped = stop["cause"] >= CAUSE_RULE
        self._tripped_run = (start["set"], start["run"]) if tripped else None

    def _aside(self, entry: Entry) -> None:
        """What is no part of a run."""
        kind = entry.kind
        if kind == "boot":
            self.close()
        elif kind in ("set", "given"):
            # The pump stands: if the run has no stop by now, that record is missing. After one
            # the decay is still to come.
            if self._open is not None and not self._open.stopped:
                self.close()
        elif kind == "trip":
            self._night(entry.night).trips.append(judgement_of(entry))
        elif kind == "warn":
            self._night(entry.night).warns.append(judgement_of(entry))
        elif id(entry) in self._put_on:
            self._batteries += 1
            self._stands = id(entry) in self._in_place
            if self._batteries > 1:
                self._night(entry.night).battery_put_on = True

    def _night(self, day: int) -> _Reading:
        return self.nights.setdefault(day, _Reading())


def _sets(
    entries: Sequence[Entry], runs: Sequence[Run], asked: dict[int, SetTally]
) -> tuple[SetTally, ...]:
    """Each set of a night, with what it was given."""
    found: dict[int, SetTally] = {}
    for entry in entries:
        number = entry.numbers.get("set", HAND)
        if entry.kind == "set" and number != HAND and number not in found:
            found[number] = SetTally(
                entry["unit"], entry["amount"], entry["runs"], entry["target"]
            )
        elif entry.kind == "skip" and number not in found:
            left_out = asked.get(number, SetTally(0, 0, 1, 0))
            found[number] = SetTally(left_out.unit, left_out.amount, left_out.runs, 0)
        elif entry.kind == "given" and number in found:
            tally = found[number]
            tally.given_s, tally.given_ml, tally.closed = entry["run_s"], entry["given_ml"], True
    # For sets whose end the board could not write: the sum of their runs.
    for run in runs:
        unclosed = found.get(run.set)
        if unclosed and not unclosed.closed:
            unclosed.given_s += run.run_s
            unclosed.given_ml += run.given_ml
    return tuple(found.values())


def _closings(entries: Sequence[Entry]) -> dict[int, Entry]:
    """The record that closes each night: it is written in the next, or later without power."""
    found: dict[int, Entry] = {}
    lived: int | None = None
    for entry in entries:
        if entry.kind == "night":
            closed = entry.night - 1 if lived is None or lived >= entry.night else lived
            found.setdefault(closed, entry)
            lived = entry.night
        elif entry.kind not in ("boot", "battery", "clock"):
            lived = entry.night if lived is None else max(lived, entry.night)
    return found


def _mean(values: Sequence[int | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None
