"""One run out of its entries: the start, what came while the pump ran, and the decay after it."""

from dataclasses import dataclass, field

from keeper.lines import date_text, time_text
from rillkeeper.runlog.evidence.judgements import cause_text, judgement_of
from rillkeeper.runlog.evidence.records import Decay, Learned, Minute, RunEvidence, Stop
from rillkeeper.runlog.lines import Entry
from rillsim.site import BoardSpec

_DAY_S = 86400
_OF_A_RUN = ("primed", "learned", "minute", "stop", "trip", "warn")


@dataclass(frozen=True)
class Fitted:
    """Which sensors there are: a channel that is not fitted reads nothing, and says nothing."""

    battery: bool = True
    pressure: bool = True
    frost: bool = True

    @classmethod
    def of(cls, board: BoardSpec | None) -> "Fitted":
        """As the site has it; all of them where that is not known."""
        if board is None:
            return cls()
        return cls(board.battery_fitted, board.pressure_fitted, board.frost_fitted)

    def mv(self, value: int) -> int | None:
        return value if self.battery else None

    def pa(self, value: int) -> int | None:
        return value if self.pressure else None


@dataclass
class Gathered:
    """The entries of one run while they are being read."""

    start: Entry
    battery: int
    again: bool
    stop_before: Entry | None
    parts: list[Entry] = field(default_factory=list)

    @property
    def stopped(self) -> bool:
        """Whether its end has been read."""
        return any(part.kind == "stop" for part in self.parts)

    def takes(self, entry: Entry) -> bool:
        """Whether an entry belongs to this run: after its end only the decay does."""
        if self.stopped:
            return entry.kind == "decay"
        return entry.kind in _OF_A_RUN


def run_of(gathered: Gathered, place: int, fitted: Fitted) -> RunEvidence:
    """The run as evidence."""
    start, parts = gathered.start, gathered.parts
    named = {part.kind: part for part in parts}
    primed, learned, stop = (named.get(kind) for kind in ("primed", "learned", "stop"))
    minutes = [part for part in parts if part.kind == "minute"]
    rest_pa = start.numbers.get("rest_pa")
    return RunEvidence(
        night=start.night,
        place=place,
        set=start["set"],
        run=start["run"],
        again=gathered.again,
        when=_when(start),
        battery=gathered.battery,
        pause_s=_pause_s(gathered),
        rest_mv=fitted.mv(start["rest_mv"]),
        rest_pa=None if rest_pa is None else fitted.pa(rest_pa),
        left_mah=start["left_mah"],
        air_c=start["frost_dc"] / 10.0 if fitted.frost else None,
        prime_ms=primed["prime_ms"] if primed and fitted.pressure else None,
        primed_pa=fitted.pa(primed["pressure_pa"]) if primed else None,
        primed_mv=fitted.mv(primed["battery_mv"]) if primed else None,
        learned=_learned(learned, fitted) if learned and fitted.battery else None,
        minutes=tuple(
            _minute(start, minute, number, fitted) for number, minute in enumerate(minutes)
        ),
        stop=_stop(stop, fitted) if stop else None,
        decay=tuple(
            Decay(part["after_ms"], fitted.pa(part["pressure_pa"]), fitted.mv(part["battery_mv"]))
            for part in parts
            if part.kind == "decay"
        ),
        trips=tuple(judgement_of(part) for part in parts if part.kind == "trip"),
        warns=tuple(judgement_of(part) for part in parts if part.kind == "warn"),
    )


def _learned(entry: Entry, fitted: Fitted) -> Learned:
    pressure = entry.numbers.get("pressure_pa")
    return Learned(
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
        since_s - 30.0,
        fitted.pa(entry["pressure_pa"]),
        fitted.mv(entry["battery_mv"]),
        entry["current_ma"],
        entry["flow_ml_min"] if fitted.pressure else None,
        entry["left_mah"],
    )


def _stop(entry: Entry, fitted: Fitted) -> Stop:
    return Stop(
        cause_text(entry["cause"]),
        entry["on_s"],
        fitted.pa(entry["pressure_pa"]),
        fitted.mv(entry["battery_mv"]),
        entry["used_mah"],
        entry["given_ml"] if fitted.pressure else None,
    )


def _pause_s(gathered: Gathered) -> float | None:
    before = gathered.stop_before
    if before is None or before.trusted != gathered.start.trusted:
        return None
    pause_s = _between_s(before, gathered.start)
    return float(pause_s) if pause_s >= 0 else None


def _between_s(first: Entry, then: Entry) -> int:
    return (then.day - first.day) * _DAY_S + then.second - first.second


def _when(entry: Entry) -> str:
    if not entry.trusted:
        return "time not known"
    return f"{date_text(entry.day)} {time_text(entry.second)}"
