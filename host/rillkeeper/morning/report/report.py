"""The report: nights and events out of a log, with what a replay knows beyond it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from keeper.plan import night_of
from keeper.rules import NO_CLOCK
from rillkeeper.display_units import Shown, clock_text, date_of, day_text, duration_text
from rillkeeper.inquiry.why.found import Found
from rillkeeper.inquiry.why.small_tests.kept import PROOF, Made, record_key, without_tests
from rillkeeper.morning.nights_left import NightsLeft, next_day, nights_left, settings_by
from rillkeeper.morning.report.litres import litres_by, meter_notes
from rillkeeper.morning.report.other_site import other_site
from rillkeeper.morning.weather import Balance, DayBalance
from rillkeeper.runlog import amounts, sentences
from rillkeeper.runlog.batteries import batteries_put_on, counts_brought_down
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry, RunLog, read_log
from rillkeeper.runlog.nights import Night, nights_of
from rillkeeper.runlog.runs import Run
from rillsim.garden.garden import NightTruth, SoilTruth
from rillsim.garden.need import root_zone_of
from rillsim.replay import FeltFault, Trace, start_day_of
from rillsim.site import Site

DAY_S = 86400
NIGHTS_FILLED_MAX = 100
"""A longer time without a record is not shown night by night."""
SLOW_PRIME = 3.0
SLOW_PRIME_S = 3.0
"""Prime is slow when it takes three times as long as is usual here, and so much longer (common
practice, no source)."""


@dataclass(frozen=True)
class Event:
    """Something in the log that is worth a line."""

    number: int
    """In the report, from 1."""
    entry: Entry
    """The record that tells it."""
    when: str
    """Day and time by the board's clock, as text; only the day where the clock was lost."""
    t_s: float | None
    """Seconds since the noon at which the report begins; None where the time is not known."""
    told: sentences.Told
    open: bool
    """Whether nothing in the log since shows that it is over: for a stop, no later prime; for
    a warning, no prime on a later night."""
    night: int
    """The night it belongs to."""


@dataclass(frozen=True)
class Report:
    """Everything that table, page, CSV and JSON are made from."""

    site: Site | None
    shown: Shown
    log: RunLog
    start_day: int
    nights: tuple[Night, ...]
    events: tuple[Event, ...]
    truth: tuple[NightTruth, ...]
    """By night, from the first; empty for a log from a garden."""
    trace: Trace | None
    faults: tuple[FeltFault, ...]
    settings: dict[str, int]
    """The board's; empty where they are not known."""
    left: NightsLeft
    """What the battery still gives from ``next_day`` on."""
    next_day: int = 0
    """Day number of the first night of which nothing has been given when the log ends."""
    other_site: tuple[str, ...] = ()
    """Signs that the log is not from a board of this site, as sentences."""
    soil: SoilTruth | None = None
    """Where the plot's water went, by a replay."""
    balance: Balance | None = None
    """Water given against water used, where there is a weather table and a site."""
    fitted: Fitted = Fitted()
    """Which sensors the board has, by its settings, its site or the log itself."""
    found: Found | None = None
    """What `why` says of the same log; None where it was not asked."""
    tests: tuple[Made, ...] = ()
    """Small tests and proofs whose runs are left out."""

    @property
    def name(self) -> str:
        """The site's name."""
        return self.site.name if self.site else "Run log"

    @property
    def notes(self) -> list[str]:
        """What this board cannot tell, for want of a sensor, and what is left out."""
        notes = meter_notes(self.nights)
        if not self.fitted.sees_water:
            notes.append(
                "No pressure sensor: the litres are those of the pump's usual flow, and a shut "
                "tap or a burst hose does not show in them."
            )
        if not self.fitted.battery:
            notes.append(
                "No battery sensor: the charge is counted, and a weak battery, clamp or cable "
                "does not show."
            )
        if self.proofs:
            days = ", ".join(dict.fromkeys(one.made[:10] for one in self.proofs))
            notes.append(f"Left out, as no night's doing: what a proof has provoked ({days}).")
        if self.small_tests:
            tests = ", ".join(f"{one.test} of {one.made[:10]}" for one in self.small_tests)
            notes.append(
                f"Left out, as no night's doing: the runs of small tests ({tests}). "
                "`rillkeeper why` counts with what they read."
            )
        return notes

    @property
    def litres_by(self) -> str:
        """Which sensor has told the litres (litres.py)."""
        return litres_by(self.nights, self.fitted)

    @property
    def proofs(self) -> list[Made]:
        """Proofs whose records are left out."""
        return [one for one in self.tests if one.test == PROOF]

    @property
    def small_tests(self) -> list[Made]:
        """Small tests whose runs are left out."""
        return [one for one in self.tests if one.test != PROOF]

    def truth_of(self, night: Night) -> NightTruth | None:
        """What plant and garden know of a night, if anything."""
        place = night.day - self.start_day
        return self.truth[place] if 0 <= place < len(self.truth) else None

    def balance_of(self, night: Night) -> DayBalance | None:
        """What the weather table makes of a night, if there is one."""
        return self.balance.of(night.day) if self.balance else None

    def rain_mm(self, night: Night) -> float | None:
        """Rain on the plot: by a replay, else by the weather table."""
        truth, balance = self.truth_of(night), self.balance_of(night)
        if truth is not None:
            return truth.rain_mm
        return balance.rain_mm if balance else None

    def events_of(self, night: Night) -> list[Event]:
        """The events of a night."""
        return [event for event in self.events if event.night == night.day]

    def planned(self, night: Night) -> str:
        """What its sets asked for: "6.0 mm in 2 runs"."""
        return amounts.planned_text(night, self.shown)

    def planned_short(self, night: Night) -> str:
        """The same for a narrow column: "6.0 mm x2"."""
        return amounts.planned_short(night, self.shown)

    def happened(self, night: Night) -> str:
        """A night in a few words, for a table: what was given, then the worst first."""
        if night.run_s is None:
            return "no records"
        words = [_outcome(night)] if night.share is not None else []
        events = sorted(self.events_of(night), key=lambda event: -event.told.level)
        for event in events:
            short = event.told.short
            if short == "rain" and night.rained:
                continue
            if event.told.level == sentences.STOP:
                first = min(other.number for other in events if other.told.short == short)
                when = next(other for other in events if other.number == first).when
                short += f" {when[-5:]}" if event.t_s is not None else ""
            if not any(word.startswith(event.told.short) for word in words):
                words.append(short)
        return "; ".join(word for word in words if word) or "nothing due"

    @property
    def stress_mm(self) -> float | None:
        """Soil water deficit from which the crop suffers."""
        return root_zone_of(self.site).readily_mm if self.site else None

    @property
    def dates(self) -> str:
        """From when to when."""
        if not self.nights:
            return "no nights"
        first, last = self.nights[0].day, self.nights[-1].day
        year = date_of(last).year
        if first == last:
            return f"{day_text(first)} {year}"
        return f"{day_text(first)} to {day_text(last)} {year}"


def report_of(
    log_lines: Iterable[str],
    site: Site | None = None,
    truth: Sequence[NightTruth] | None = None,
    trace: Trace | None = None,
    faults: Sequence[FeltFault] = (),
    *,
    soil: SoilTruth | None = None,
    settings: dict[str, int] | None = None,
    start_day: int | None = None,
    tests: Sequence[Made] = (),
) -> Report:
    """Read a log and reckon its nights and events.

    Parameters
    ----------
    log_lines : iterable of str
        Lines as the board writes them
    site : Site, optional
        For its name, units, plot and sprinkler
    truth, trace, faults, soil : optional
        What a replay knows beyond the log
    settings : dict, optional
        The board's settings: sets that were left out, and the limits in the pictures
    start_day : int, optional
        Day number of the noon at which truth and trace begin; the site's where not given
    tests : sequence of Made
        Small tests that were made at the board: what it wrote of them is no night's doing
    """
    whole = read_log(log_lines)
    log = without_tests(whole, tests)
    there = set(map(record_key, whole.entries))
    shown = Shown(site.units if site else "metric")
    if start_day is None and site and (truth or trace is not None):
        start_day = start_day_of(site)
    days = _days(log.entries, start_day, len(truth or ()))
    fitted = _fitted(site, settings, log.entries)
    nights = nights_of(
        log, settings=settings, days=days, fitted=fitted, complete=bool(truth)
    ).nights
    first = start_day if start_day is not None else days[0] if days else 0
    limits = settings or settings_by(site)
    return Report(
        site=site,
        shown=shown,
        log=log,
        start_day=first,
        nights=nights,
        events=tuple(_events(log.entries, first, nights, shown, fitted)),
        truth=tuple(truth or ()),
        trace=trace,
        faults=tuple(faults),
        settings=settings or {},
        left=nights_left(nights, site, limits),
        next_day=next_day(nights, limits),
        soil=soil,
        other_site=other_site(site, log.entries, nights) if site and not truth else (),
        fitted=fitted,
        tests=tuple(one for one in tests if one.records & there),
    )


def _fitted(
    site: Site | None, settings: dict[str, int] | None, entries: Sequence[Entry]
) -> Fitted:
    """What the board has, from whoever knows it best."""
    if settings:
        return Fitted.of_settings(settings, site.board if site else None)
    return Fitted.of(site.board) if site else Fitted.of_log(entries)


def _outcome(night: Night) -> str:
    if night.whole:
        return "all given"
    assert night.share is not None
    return f"{100 * night.share:.0f} % given" if night.share >= 0.005 else ""


def _days(entries: Sequence[Entry], start_day: int | None, truths: int) -> list[int]:
    """The nights to show: those with records, and those between that have none."""
    found = {entry.night for entry in entries if entry.kind != "night"}
    if start_day is not None and truths:
        return list(range(start_day, start_day + truths))
    if not found:
        return []
    if max(found) - min(found) > NIGHTS_FILLED_MAX:
        return sorted(found)
    return list(range(min(found), max(found) + 1))


def _events(
    entries: Sequence[Entry],
    start_day: int,
    nights: Sequence[Night],
    shown: Shown,
    fitted: Fitted,
) -> list[Event]:
    lower = {id(entry): entry for entry in counts_brought_down(entries)}
    derived = {
        **_slow_primes(nights),
        **_cut_runs(nights),
        **{key: sentences.count_brought_down(entry, shown) for key, entry in lower.items()},
    }
    primes = [place for place, entry in enumerate(entries) if entry.kind == "primed"]
    last_prime = primes[-1] if primes else -1
    last_clock = max((n for n, entry in enumerate(entries) if entry.kind == "clock"), default=-1)
    last_night = entries[last_prime].night if primes else None
    night_of_entry = {id(entry): night.day for night in nights for entry in night.entries}
    found: list[Event] = []
    clock_said = False
    for place, entry in enumerate(entries):
        told = derived.get(id(entry)) or sentences.tell(entry, shown, fitted)
        if entry.kind == "clock":
            clock_said = entry["verdict"] != 0
        if told.level == sentences.ROUTINE:
            continue
        if id(entry) not in lower and _said_before(entries, place, clock_said):
            continue
        still = place > last_prime
        if told.level == sentences.WARNING:
            still = still or entry.night == last_night
        if entry.kind == "clock":
            still = place == last_clock
        night = night_of_entry.get(id(entry), entry.night)
        found.append(_event(len(found) + 1, entry, night, start_day, told, still))
    return found


def _said_before(entries: Sequence[Entry], place: int, clock_said: bool) -> bool:
    """Whether a record only says again what another has said, or opens the log as it must; or a
    restart that older firmware wrote down as a battery."""
    entry = entries[place]
    if entry.kind == "battery":
        opens = all(other.kind == "boot" for other in entries[:place])
        return opens or all(entry is not other for other in batteries_put_on(entries))
    return entry.kind == "warn" and entry["rule"] == NO_CLOCK and clock_said


def _event(
    number: int, entry: Entry, night: int, start_day: int, told: sentences.Told, still: bool
) -> Event:
    # A board that has just started writes its first lines before it has judged its clock.
    known = entry.trusted or night_of(entry.day, entry.second) == entry.night
    if not known:
        return Event(number, entry, f"{day_text(night)}, no clock", None, told, still, night)
    when = f"{day_text(entry.day)} {clock_text(entry.second)}"
    t_s = (entry.night - start_day) * DAY_S + entry.since_noon_s
    return Event(number, entry, when, t_s, told, still, night)


def _slow_primes(nights: Sequence[Night]) -> dict[int, sentences.Told]:
    """First primes of a night that took much longer than is usual, by the record's identity."""
    usual = [night.prime_s for night in nights if night.prime_s is not None]
    if len(usual) < 3:
        return {}
    usual_s = median(usual)
    limit_s = max(SLOW_PRIME * usual_s, usual_s + SLOW_PRIME_S)
    found = {}
    for night in nights:
        first: Run | None = next((run for run in night.runs if run.primed), None)
        if first and first.primed and night.prime_s and night.prime_s > limit_s:
            found[id(first.primed)] = sentences.Told(
                sentences.WARNING,
                "slow to draw water",
                f"The pump took {duration_text(night.prime_s)} to draw water, usually "
                f"{duration_text(usual_s)}: the suction line had run empty.",
                "The set went on.",
                "Look at the foot valve: grit holds it open. Then at the suction line's joints.",
            )
    return found


def _cut_runs(nights: Sequence[Night]) -> dict[int, sentences.Told]:
    """The last records of runs that have no end in the log, by the record's identity."""
    cut = sentences.Told(
        sentences.WARNING,
        "records stop",
        "The records stop while the pump was running: power was lost, or lines are missing.",
        "",
        "Is the battery on its clamps, and is the fuse whole?",
    )
    goes_on = sentences.Told(
        sentences.NOTE,
        "still running",
        "The log ends while the pump was running.",
        "",
        "When it has stopped, read on: rillkeeper log.",
    )
    runs = [run for night in nights for run in night.runs if not run.stop]
    return {id(run.last): goes_on if run.running else cut for run in runs}


def minutes_of(night: Night) -> int | None:
    """Minutes that the pump ran."""
    return None if night.run_s is None else round(night.run_s / 60)
