"""Troubles named: seeded weeks that nothing was tuned on, on the demonstration and drawn sites.

Each week has one trouble, from its fourth night on, at one of three severities of the
catalogue, or none. A first answer that names one cause is right if it is the true one. One that
says "cannot tell A from B" counts by itself, and only where the true cause is in the group; it
was put together because the signatures hardly differ (``rank._alike``). A trouble that even a log
without any noise would not make likelier than none is one that the sensors cannot see.
"""

from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import count

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.why.attempts import FINE, attempts_of, healthy_chance
from rillkeeper.inquiry.why.causes import NONE
from rillkeeper.inquiry.why.diagnosis import Diagnosis, diagnose
from rillkeeper.inquiry.why.hypotheses import effects_of, hypotheses_of
from rillkeeper.inquiry.why.likelihood import Added, log_evidence
from rillkeeper.inquiry.why.onset import PER_NIGHT, STEP
from rillkeeper.inquiry.why.signatures import Signatures, work_out
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from rillsim.site import BatteryTrip, FaultSpec, Site
from tests.bench.table import Row
from tests.scenarios.draw import draw_site

NIGHTS = 7
ONSET_NIGHT = 4
BEFORE_S = -8 * 3600.0
SEED = 170_000
"""Far from every seed of the tests and of the signatures."""
FIRST_DRAWN = 2000
LEVELS = ("mild", "moderate", "severe")
RIGHT_GOAL = 90.0
FALSE_GOAL = 1.0
LEAD_GOAL = 2
LEAD_MOST = 6
"""Nights before the stop that are looked at."""

# fmt: off
CASES = {
    # cause                         fault                mild   moderate severe
    "strainer blocking":            ("strainer_blocking", 0.5,   0.75,    0.92),
    "suction air leak":             ("air_leak",          0.03,  0.1,     0.4),
    "foot valve leaking":           ("foot_valve_leak",   0.003, 0.02,    0.5),
    "source falling":               ("source_falling",    0.3,   0.7,     1.02),  # times the cover
    "hose kinked or crushed":       ("hose_kinked",       0.5,   0.75,    0.95),
    "hose burst or slipped":        ("hose_burst",        0.05,  0.2,     0.8),
    "sprinkler blocked":            ("sprinkler_blocked", 0.05,  0.15,    0.5),
    "nozzle worn or gone":          ("nozzle_worn",       0.15,  0.5,     1.0),
    "pump worn":                    ("pump_worn",         0.1,   0.35,    0.9),
    "pump stiff or stuck":          ("pump_stalled",      0.03,  0.12,    1.0),
    "cable or clamp resistance":    ("corroded_clamp",    0.02,  0.07,    0.3),
    "tired battery":                ("battery_tired",     0.15,  0.5,     1.0),
    "cold battery":                 ("battery_cold",      0.3,   0.6,     1.0),
    "battery not full":             ("flat_battery",      0.05,  0.15,    0.4),
    "pressure sensor off or stuck": ("pressure_offset",   0.1,   0.4,     1.0),  # up, down
    "battery reading off or stuck": ("battery_offset",    0.1,   0.4,     1.0),  # up, down
    "relay worn":                   ("relay_worn",        0.07,  0.3,     1.0),
}
# fmt: on
DRIFTS = {
    "strainer blocking": 1.0,
    "suction air leak": 1.0,
    "source falling": 1.1,
    "hose kinked or crushed": 1.0,
    "sprinkler blocked": 1.0,
    "cable or clamp resistance": 0.6,
}
"""Troubles that end in a stop of the board, and the severity that they grow to."""
GROWTH_NIGHTS = 12
DRIFT_NIGHTS = 14


@dataclass(frozen=True)
class Place:
    """A site with all that is known before its log is read."""

    site: Site
    settings: dict[str, int]
    signatures: Signatures


@dataclass(frozen=True)
class Job:
    """One week to be replayed and judged."""

    place: Place
    seed: int
    cause: str = NONE
    level: str = ""
    severity: float = 0.0


@dataclass(frozen=True)
class Told:
    """What was said of one week."""

    cause: str
    level: str
    first: tuple[str, ...]
    two: tuple[str, ...]
    seen: bool = True
    """Whether the sensors can see it at all."""

    @property
    def kind(self) -> str:
        """Right alone, right in a group, nothing, or wrong."""
        if self.cause == NONE:
            return "right" if not self.first else "wrong"
        if self.first == (self.cause,):
            return "right"
        if self.cause in self.first:
            return "group"
        return "wrong" if self.first else "nothing"


def rows(sites: int = 4, healthy: int = 100, drifts: int = 2, workers: int = 2) -> list[Row]:
    """The figures; the confusion table is printed."""
    with ProcessPoolExecutor(workers) as pool:
        places = list(pool.map(_place, _sites(sites)))
        jobs = list(_jobs(places, healthy))
        told = list(pool.map(judge, jobs, chunksize=2))
        wanted = [(place, name) for name in DRIFTS for place in places[:drifts]]
        leads = list(pool.map(_lead, wanted))
    print("\n".join(confusion(told)))
    by_drift: dict[str, list[int]] = {name: [] for name in DRIFTS}
    for (_, name), lead in zip(wanted, leads, strict=True):
        if lead is not None:
            by_drift[name].append(lead)
    return [
        _false_alarms(told),
        *(_by_level(told, level) for level in LEVELS),
        *(_by_cause(told, cause) for cause in CASES),
        *(_drift(name, found) for name, found in by_drift.items()),
    ]


def _sites(wanted: int) -> list[Site]:
    """The demonstration without its faults, and drawn ones that carry the two sensors."""
    demo = demo_site()
    short = replace(demo.sets[0], unit="minutes", amount=16, soak_s=600)
    found = [replace(demo, faults=(), battery_trips=(), sets=(short,))]
    for seed in count(FIRST_DRAWN):
        if len(found) >= wanted:
            break
        site = draw_site(seed, NIGHTS)
        if site and site.board.battery_fitted and site.board.pressure_fitted:
            found.append(site)
    return found


def _place(site: Site) -> Place:
    settings = settings_of(site)
    return Place(site, settings, work_out(site, settings))


def _jobs(places: list[Place], healthy: int) -> Iterator[Job]:
    seeds = count(SEED)
    for number in range(healthy):
        yield Job(places[number % len(places)], next(seeds))
    for turn, place in enumerate(places):
        for cause, (fault, *severities) in CASES.items():
            for level, severity in zip(LEVELS, severities, strict=True):
                scale = place.site.water.cover_m if fault == "source_falling" else 1.0
                down = fault.endswith("offset") and turn % 2
                signed = -severity if down else severity * scale
                yield Job(place, next(seeds), cause, level, signed)


def judge(job: Job) -> Told:
    """Replay one week, and ask what is wrong."""
    place = job.place
    faults: tuple[FaultSpec, ...] = ()
    if job.cause != NONE:
        faults = (FaultSpec(CASES[job.cause][0], ONSET_NIGHT, BEFORE_S, job.severity),)
    week = replay(place.site, place.settings, nights=NIGHTS, seed=job.seed, faults=faults)
    evidence = nights_of(read_log(week.log), place.site.board, complete=True).acted
    found = diagnose(evidence, place.site, place.settings, place.signatures, 1)
    two = tuple(finding.cause.name for finding in found.findings[:2])
    seen = job.cause == NONE or found.named or _seen(job, found)
    return Told(job.cause, job.level, found.first, two, seen)


def _seen(job: Job, found: Diagnosis) -> bool:
    """Whether the true trouble, without noise, is likelier than none."""
    place, attempts, comparison = job.place, found.attempts, found.comparison
    effects = effects_of(found.evidence, attempts, place.site, place.settings, place.signatures)
    fault, nights = CASES[job.cause][0], len(found.evidence.nights)
    down = job.severity < 0.0
    effect = next(one for one in effects if one.mode.fault == fault and one.mode.downwards == down)
    hypotheses = hypotheses_of(effect, attempts, nights)
    onset = (found.evidence.first_night or 0) + ONSET_NIGHT - 1
    begins = [
        number
        for number, one_onset in enumerate(hypotheses.onsets)
        if one_onset.shape == STEP and attempts.days[one_onset.half // 2] >= onset
    ]
    if not begins:
        return False
    measure = job.severity / effect.mode.severity_on(place.site, 1.0)
    off = np.abs(hypotheses.worst - measure) + 1e6 * (hypotheses.onset != begins[0])
    row = np.array([int(np.argmin(off))])
    added = hypotheses.added(comparison.data, comparison.sign, row)
    pure = replace(comparison.data, y=added.mean[0])
    share = effect.cause.share_of(effect.mode) * PER_NIGHT
    ends = sum(np.log(healthy_chance(one)) for one in attempts.outcomes if one is not None)
    gain = float(log_evidence(pure, added)[0] + hypotheses.outcome_log_chance()[row][0] - ends)
    without = float(log_evidence(pure, Added.nothing(len(pure.y)))[0])
    return bool(gain - without + np.log(share) > 0.0)


def _lead(wanted: tuple[Place, str]) -> int | None:
    """Nights between the naming of a drift and the board's stop; None where it never stops."""
    place, cause = wanted
    severity = DRIFTS[cause]
    if cause == "source falling":
        severity *= place.site.water.cover_m
    drift = FaultSpec(CASES[cause][0], 2, BEFORE_S, severity, grows_s=GROWTH_NIGHTS * 86400.0)
    site = replace(place.site, battery_trips=tuple(BatteryTrip(n) for n in (3, 6, 9, 12)))
    week = replay(site, place.settings, nights=DRIFT_NIGHTS, seed=SEED - 1, faults=(drift,))
    log = read_log(week.log)
    stop = _stop_night(nights_of(log, site.board).acted)
    if stop is None:
        return None
    first = log.entries[0].night
    for nights in range(max(2, stop - first - LEAD_MOST), stop - first + 1):
        part = _until(log, first + nights)
        found = diagnose(
            nights_of(part, site.board).acted, place.site, place.settings, place.signatures, 1
        )
        if cause in found.first:
            return stop - (first + nights - 1)
    return 0


def _stop_night(evidence: NightLog) -> int | None:
    """The first night in which a rule ended a run."""
    attempts = attempts_of(evidence)
    for place, outcome in enumerate(attempts.outcomes):
        if outcome not in (None, FINE):
            return int(attempts.days[place])
    return None


def _until(log: RunLog, night: int) -> RunLog:
    """The log as it was at the noon after the night before that one."""
    return replace(log, entries=tuple(entry for entry in log.entries if entry.night < night))


def confusion(told: list[Told]) -> list[str]:
    """True cause by first answer; an answer of several causes is a column of its own."""
    lines = ["What was said of each trouble (severity mild, moderate, severe):"]
    for cause in (NONE, *CASES):
        answers: Counter[str] = Counter()
        for one in told:
            if one.cause == cause:
                answers[" or ".join(one.first) or NONE] += 1
        said = "; ".join(f"{number} x {answer}" for answer, number in answers.most_common())
        lines.append(f"  {cause}: {said}")
    return lines


def _false_alarms(told: list[Told]) -> Row:
    sound = [one for one in told if one.cause == NONE]
    false = sum(one.kind == "wrong" for one in sound)
    rate = 100.0 * false / len(sound)
    return Row(
        "false alarms in sound weeks",
        f"{false} in {len(sound)} weeks",
        result=f"{rate:.1f} in 100",
        goal=f"at most {FALSE_GOAL:g} in 100",
        met=rate <= FALSE_GOAL,
    )


def _by_level(told: list[Told], level: str) -> Row:
    """Of the weeks in which the sensors can tell: those not answered by a group."""
    here = [one for one in told if one.level == level]
    kinds = Counter(one.kind for one in here)
    two = sum(one.cause in one.two for one in here)
    hidden = sum(not one.seen for one in here)
    able = len(here) - kinds["group"] - hidden
    share = 100.0 * kinds["right"] / max(able, 1)
    judged = level == "moderate"
    return Row(
        f"{level} troubles, first answer right",
        f"{kinds['right']} of {able}, {kinds['wrong']} wrong",
        f"{kinds['group']} more in a group, {hidden} not to be seen; "
        f"{two} of {len(here)} in the first two",
        f"{share:.0f} %",
        f"at least {RIGHT_GOAL:.0f} %" if judged else "-",
        share >= RIGHT_GOAL if judged else None,
    )


def _by_cause(told: list[Told], cause: str) -> Row:
    """Mild, moderate, severe: right alone, in a group, in the first two, of all."""
    parts = []
    for level in LEVELS:
        here = [one for one in told if one.cause == cause and one.level == level]
        kinds = Counter(one.kind for one in here)
        two = sum(one.cause in one.two for one in here)
        parts.append(f"{kinds['right']}+{kinds['group']}, {two} of {len(here)}")
    measure = " / ".join(f"{severity:g}" for severity in CASES[cause][1:])
    return Row(
        f"{cause}: alone + group, first two", "; ".join(parts), f"{CASES[cause][0]} {measure}"
    )


def _drift(name: str, leads: list[int]) -> Row:
    """Nights from the first naming to the stop; over LEAD_MOST is not looked for."""
    shortest = min(leads, default=0)
    return Row(
        f"{name} growing over {GROWTH_NIGHTS} nights: named before the stop",
        ", ".join(f"{lead} nights" for lead in sorted(leads)) or "it came to no stop",
        result=f"{shortest} nights at least",
        goal=f"at least {LEAD_GOAL} nights",
        met=bool(leads) and shortest >= LEAD_GOAL,
    )
