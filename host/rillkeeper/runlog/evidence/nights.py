"""From the entries of a run log to evidence, run by run and night by night."""

from dataclasses import dataclass, field

from keeper.records import CAUSE_RULE
from rillkeeper.runlog.evidence.judgements import cause_text, judgement_of
from rillkeeper.runlog.evidence.records import Evidence, Judgement, NightEvidence, RunEvidence
from rillkeeper.runlog.evidence.runs import Fitted, Gathered, run_of
from rillkeeper.runlog.lines import Entry, RunLog
from rillsim.site import BoardSpec


@dataclass
class _Night:
    """One night while it is being read."""

    runs: list[RunEvidence] = field(default_factory=list)
    trips: list[Judgement] = field(default_factory=list)
    warns: list[Judgement] = field(default_factory=list)
    skips: list[str] = field(default_factory=list)
    battery_put_on: bool = False
    shortened: bool = False
    closing: Entry | None = None


def evidence_of(log: RunLog, board: BoardSpec | None = None) -> Evidence:
    """What a log tells.

    ``board`` says which sensors are fitted: the readings of one that is not are None. Runs whose
    clock was not to be believed stand where they were written.

    >>> from rillkeeper.runlog.lines import read_log
    >>> evidence_of(read_log([])).nights
    ()
    """
    reader = _Reader(Fitted.of(board))
    for entry in log.entries:
        reader.take(entry)
    return reader.evidence()


class _Reader:
    """Walks through the entries once."""

    def __init__(self, fitted: Fitted) -> None:
        self.fitted = fitted
        self.nights: dict[int, _Night] = {}
        self.runs: list[RunEvidence] = []
        self.open: Gathered | None = None
        self.last_stop: Entry | None = None
        self.tripped_run: tuple[int, int] | None = None
        self.batteries = 0
        self.booted = False

    def take(self, entry: Entry) -> None:
        """The next entry."""
        kind = entry.kind
        if kind == "start":
            self._close()
            again = self.tripped_run == (entry["set"], entry["run"])
            self.open = Gathered(entry, self.batteries, again, self.last_stop)
            self._night(entry)
        elif self.open is not None and self.open.takes(entry):
            self.open.parts.append(entry)
            if kind == "stop":
                self.last_stop = entry
                start = self.open.start
                tripped = entry["cause"] >= CAUSE_RULE
                self.tripped_run = (start["set"], start["run"]) if tripped else None
        elif kind == "night":
            # It is the first record of the night that follows the one it closes.
            self._close()
            before = max((n for n in self.nights if n < entry.night), default=None)
            if before is not None:
                self.nights[before].closing = entry
            self.tripped_run = None
        else:
            self._aside(entry)

    def evidence(self) -> Evidence:
        """All that was taken."""
        self._close()
        nights = tuple(_night_of(day, night) for day, night in self.nights.items())
        return Evidence(nights, tuple(self.runs))

    def _aside(self, entry: Entry) -> None:
        """What is no part of a run."""
        kind = entry.kind
        if kind == "trip":
            self._night(entry).trips.append(judgement_of(entry))
        elif kind == "warn":
            self._night(entry).warns.append(judgement_of(entry))
        elif kind == "battery":
            self.batteries += 1
            if self.batteries > 1:
                self._night(entry).battery_put_on = True
        elif kind == "skip":
            self._night(entry).skips.append(cause_text(entry["cause"]))
        elif kind == "short":
            self._night(entry).shortened = True
        elif kind == "boot":
            self._close()

    def _night(self, entry: Entry) -> _Night:
        return self.nights.setdefault(entry.night, _Night())

    def _close(self) -> None:
        if self.open is None:
            return
        run = run_of(self.open, len(self.runs), self.fitted)
        self.runs.append(run)
        self.nights.setdefault(run.night, _Night()).runs.append(run)
        self.open = None


def _night_of(day: int, night: _Night) -> NightEvidence:
    closing = night.closing
    last = night.runs[-1] if night.runs else None
    return NightEvidence(
        night=day,
        runs=tuple(night.runs),
        trips=tuple(night.trips),
        warns=tuple(night.warns),
        battery_put_on=night.battery_put_on,
        skips=tuple(night.skips),
        shortened=night.shortened,
        used_mah=closing["used_mah"] if closing else None,
        left_mah=closing["left_mah"] if closing else last.left_mah if last else None,
        rest_mv=closing["rest_mv"] if closing else None,
    )
