"""One night of the log, noon to noon: what was asked for, what ran, and what it took."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from keeper.plan import HAND
from keeper.records import RAINED
from keeper.settings import MINUTES, SETS, UNITS
from rillkeeper.display_units import Shown
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.sentences import amount_text, in_runs

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


@dataclass
class Run:
    """One closing of the relay."""

    start: Entry
    minutes: list[Entry] = field(default_factory=list)
    primed: Entry | None = None
    stop: Entry | None = None

    @property
    def run_s(self) -> int:
        """How long it lasted, as far as the log tells."""
        return self.stop["on_s"] if self.stop else 60 * len(self.minutes)

    @property
    def given_ml(self) -> int:
        """What it gave, as far as the log tells."""
        if self.stop:
            return self.stop["given_ml"]
        return sum(minute["flow_ml_min"] for minute in self.minutes)

    @property
    def last(self) -> Entry:
        """The last record of it."""
        return self.stop or (self.minutes[-1] if self.minutes else self.primed or self.start)

    def readings(self, name: str) -> list[int]:
        """Minute means of a reading; where it was too short for one, the single looks."""
        if self.minutes:
            return [minute[name] for minute in self.minutes]
        return [look[name] for look in (self.primed, self.stop) if look]


@dataclass(frozen=True)
class Night:
    """What the log tells of a night; None and empty stand for what it does not tell."""

    day: int
    """Day number of the noon at which it began."""
    planned: str
    """The sets in words: "6.0 mm in 2 runs"."""
    planned_short: str
    """The same for a narrow column: "6.0 mm x2"."""
    sets: tuple[SetTally, ...]
    runs: tuple[Run, ...]
    run_s: int | None
    given_ml: int | None
    depth_um: int | None
    """As the board reckons it: litres over the wetted area."""
    pressure_pa: float | None
    """Mean while pumping."""
    battery_mv: int | None
    """Lowest under load."""
    flow_ml_min: float | None
    prime_s: float | None
    """From the first start to pressure."""
    used_mah: int | None
    left_mah: int | None
    nights_tenths: int | None
    rained: bool
    """A set was left out or ended because of rain."""

    @property
    def share(self) -> float | None:
        """How much of what was asked for was given, 0 to 1; None where nothing was."""
        shares = [min(1.0, s.given / s.target) if s.target else 0.0 for s in self.sets]
        return sum(shares) / len(shares) if shares else None

    @property
    def whole(self) -> bool:
        """Whether the garden got all that was asked for."""
        return self.share is not None and self.share >= WHOLE_SHARE


def night_from(
    day: int,
    entries: Sequence[Entry],
    closing: Entry | None,
    known_sets: dict[int, SetTally],
    shown: Shown,
) -> Night:
    """A night's account from its records and from the one that closed it at noon.

    ``known_sets`` tells what a set asks for that was left out before it was taken up.
    """
    sets = _sets(entries, known_sets)
    runs = _runs(entries)
    _add_up(sets, runs)
    depths = [entry["depth_um"] for entry in entries if entry.kind == "given"]
    left = [entry["left_mah"] for entry in entries if "left_mah" in entry.numbers]
    used = [entry["used_mah"] for entry in entries if entry.kind == "stop"]
    pressures = _all(runs, "pressure_pa")
    volts = _all(runs, "battery_mv")
    flows = [minute["flow_ml_min"] for run in runs for minute in run.minutes]
    primes = [run.primed["prime_ms"] / 1000 for run in runs if run.primed]
    known = bool(entries or closing)
    asked = [(amount_text(s.unit, s.amount, shown), s.runs) for s in sets.values() if s.amount]
    return Night(
        day=day,
        planned=" + ".join(in_runs(a, r) for a, r in asked),
        planned_short=" + ".join(a if r < 2 else f"{a} x{r}" for a, r in asked),
        sets=tuple(sets.values()),
        runs=tuple(runs),
        run_s=closing["run_s"] if closing else sum(run.run_s for run in runs) if known else None,
        given_ml=(
            closing["given_ml"]
            if closing
            else sum(run.given_ml for run in runs)
            if known
            else None
        ),
        depth_um=sum(depths) if depths or (known and not runs) else None,
        pressure_pa=sum(pressures) / len(pressures) if pressures else None,
        battery_mv=min(volts) if volts else None,
        flow_ml_min=sum(flows) / len(flows) if flows else None,
        prime_s=primes[0] if primes else None,
        used_mah=closing["used_mah"] if closing else used[-1] if used else None,
        left_mah=closing["left_mah"] if closing else left[-1] if left else None,
        nights_tenths=closing["nights_tenths"] if closing else None,
        rained=any(
            entry.kind in ("skip", "given") and entry["cause"] == RAINED for entry in entries
        ),
    )


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


def _all(runs: list[Run], name: str) -> list[int]:
    """Readings of a night: minute means where there are any, else the single looks."""
    minutes = [minute[name] for run in runs for minute in run.minutes]
    return minutes or [value for run in runs for value in run.readings(name)]


def _sets(entries: Sequence[Entry], known: dict[int, SetTally]) -> dict[int, SetTally]:
    found: dict[int, SetTally] = {}
    for entry in entries:
        number = entry.numbers.get("set", HAND)
        if entry.kind == "set" and number != HAND and number not in found:
            found[number] = SetTally(
                entry["unit"], entry["amount"], entry["runs"], entry["target"]
            )
        elif entry.kind == "skip" and number not in found:
            asked = known.get(number, SetTally(0, 0, 1, 0))
            found[number] = SetTally(asked.unit, asked.amount, asked.runs, 0)
        elif entry.kind == "given" and number in found:
            tally = found[number]
            tally.given_s, tally.given_ml, tally.closed = entry["run_s"], entry["given_ml"], True
    return found


def _add_up(sets: dict[int, SetTally], runs: list[Run]) -> None:
    """For sets whose end the board could not write: the sum of their runs."""
    for run in runs:
        tally = sets.get(run.start["set"])
        if tally and not tally.closed:
            tally.given_s += run.run_s
            tally.given_ml += run.given_ml


def _runs(entries: Sequence[Entry]) -> list[Run]:
    runs: list[Run] = []
    for entry in entries:
        if entry.kind == "start":
            runs.append(Run(entry))
        elif runs and not runs[-1].stop:
            if entry.kind == "minute":
                runs[-1].minutes.append(entry)
            elif entry.kind == "primed":
                runs[-1].primed = entry
            elif entry.kind == "stop":
                runs[-1].stop = entry
    return runs
