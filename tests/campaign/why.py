"""`why` on sites that are not as their files say: how often it is right, silent, wrong, or sure.

The weeks are those of ``why_weeks.py``. Each is asked about as its owner would: with the site
file, on the whole log. A fault that the model cannot see is counted like any other. ``learned``
asks twice about the same week, by the file and by what `learn` made of the sound nights before;
``swallowed`` lets `learn` have a week in which the fault is there all the time.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.errors import RillkeeperError
from rillkeeper.inquiry.learn import learn
from rillkeeper.inquiry.learn.inputs import site_at
from rillkeeper.inquiry.learn.summary import beyond
from rillkeeper.inquiry.why.answer import strange_words
from rillkeeper.inquiry.why.attempts import FINE, Attempts, attempts_of
from rillkeeper.inquiry.why.cache import key_of, load, save
from rillkeeper.inquiry.why.diagnosis import Diagnosis, diagnose
from rillkeeper.inquiry.why.signatures import work_out
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillsim.replay import DAY_S, NOON_S, start_day_of
from rillsim.site import Site
from tests.campaign.kept import FOLDER
from tests.campaign.part import Part, Row, Rows
from tests.campaign.why_weeks import (
    FITTED,
    GROWING,
    LEARNED,
    MADE_OF,
    ONE,
    SOUND,
    SWALLOWED,
    TWO,
    Week,
    names,
    sound_before,
    week_of,
)

SURE = 0.9
EARLY_NIGHTS = 2
LEAD_MOST = 6
"""Nights before a stop that are looked at."""
FALSE_GOAL, SURE_GOAL, RIGHT_GOAL, BOTH_GOAL, EARLY_GOAL = 0.01, 0.02, 0.8, 0.6, 0.8
FEW = 2
"""Causes in a group that still tells a person where to look."""
QUIET, FALSE, RIGHT, SURELY_WRONG = "quiet", "false alarm", "right", "wrong and sure"
TOLD, TOLD_AS = "mishap told", {"not quite charged": "battery not full"}
"""A mishap of a sound week that has a cause of its own: who names it is right."""
NEVER_RAN = "never ran with it"
"""It rained, or the clock was lost, until the end of the week: no model can see such a fault."""
_THREE = 3


def asked(week: Week, site: Site, log: RunLog | None = None) -> Row:
    """What is said of a week, or of a part of its log."""
    evidence = nights_of(log or read_log(week.log()), site.board).acted
    if not evidence.nights:
        return {"first": [], "found": [], "troubles": [], "nothing": 1.0}
    found = diagnosis_of(evidence, site)
    strange = bool(strange_words(site, settings_of(site), found))
    return {
        "first": [] if strange else list(found.first),
        "found": [[one.cause.name, round(one.probability, 4)] for one in found.findings[:4]],
        "troubles": [list(one.names) for one in found.troubles],
        "nothing": round(found.nothing, 4),
        "onset": _onset(found),
        **({"strange": True} if strange else {}),
    }


def diagnosis_of(evidence: NightLog, site: Site) -> Diagnosis:
    """With the trials of the site kept, by themselves for each."""
    settings = settings_of(site)
    key = key_of(site, settings)
    file = Path(FOLDER) / "signatures" / f"{key}.kept" / f"{key}.json"
    signatures = load(file)
    if signatures is None:
        signatures = work_out(site, settings)
        save(signatures, file)
    return diagnose(evidence, site, settings, signatures)


def _onset(found: Diagnosis) -> list[Any]:
    if not found.named:
        return []
    one = found.troubles[0].finding
    return [one.onset.shape, one.onset.night, one.mode.key, round(one.severity, 3)]


def attempt(case: str) -> Row:
    """One week."""
    week = week_of(case)
    if week.kind == GROWING:
        return growing(week)
    if week.kind == SWALLOWED:
        return _swallowed(week)
    row = asked(week, week.file)
    row["mishaps"] = week.mishaps
    row["faults"] = [
        f"{one.name}@{one.night}{one.offset_s / 3600.0:+.1f}h:{one.severity:.2f}"
        for one in week.faults
    ]
    row["chemistry"] = week.file.battery.chemistry
    if week.causes and not _felt(week):
        row["never ran"] = True
    if week.kind == LEARNED:
        row["learned"] = _asked_learned(week, _learned(week, sound_before(week)))
    return row


def _felt(week: Week) -> bool:
    """Whether the pump ran at all after the last fault had begun, or the board said why not."""
    evidence = nights_of(read_log(week.log()), week.file.board).acted
    attempts = attempts_of(evidence)
    first = start_day_of(week.truth)
    begin_s = max(
        (first + fault.night - 1) * DAY_S + week.truth.sets[0].start_s + fault.offset_s
        for fault in week.faults
    )
    for run, outcome, day in zip(attempts.runs, attempts.outcomes, attempts.days, strict=True):
        if run is None and outcome and day * DAY_S + NOON_S >= begin_s - DAY_S / 2:
            return True
        if run and run.start.day * DAY_S + run.start.second + run.run_s > begin_s:
            return True
    return False


def _learned(week: Week, lesson: Week) -> Site | None:
    """The site as `learn` has it after other nights; None where it writes nothing."""
    log = read_log(lesson.log())
    evidence = nights_of(log, week.file.board)
    try:
        found = learn(week.file, evidence, week.settings["capacity_mah"])
    except RillkeeperError:
        return None
    if not found.agrees or beyond(found) or asked(week, week.file, log)["first"]:
        return None
    return site_at(week.file, {one.about.key: one.value for one in found.inputs})


def _asked_learned(week: Week, site: Site | None) -> Row | None:
    try:
        return asked(week, site) if site else None
    except RillkeeperError:
        return None


def _swallowed(week: Week) -> Row:
    """What is left to be said after `learn` has had the faulty nights themselves."""
    site = _learned(week, week)
    before = asked(week, week.file)
    return {**before, "refused": site is None, "learned": _asked_learned(week, site)}


def growing(week: Week, most: int = LEAD_MOST) -> Row:
    """Back from the stop of the board, so many mornings at most, while the cause is named."""
    log = read_log(week.log())
    evidence = nights_of(log, week.file.board).acted
    attempts = attempts_of(evidence)
    stop = first_stop(attempts, week.faults[0].night - 1)
    if stop is None:
        return {"stop": None, "lead": 0, "first": []}
    lead, first = 0, []
    for back in range(1, most + 1):
        night = stop - back
        entries = tuple(entry for entry in log.entries if entry.night <= night)
        if night < log.entries[0].night + 1:
            break
        first = asked(week, week.file, replace(log, entries=entries))["first"]
        if week.causes[0] not in first:
            break
        lead = back
    return {"stop": stop - log.entries[0].night + 1, "lead": lead, "first": first}


def first_stop(attempts: Attempts, night_place: int) -> int | None:
    """Day number of the first night, from a place among the nights on, in which a rule spoke."""
    for place, outcome in enumerate(attempts.outcomes):
        if outcome not in (None, FINE) and attempts.night_places[place] >= night_place:
            return int(attempts.days[place])
    return None


def verdict(case: str, row: Row) -> str:
    """In one or two words; ``WORST_FIRST`` of the page knows the bad ones."""
    kind, _, _, *causes = case.split("/")
    if kind == SOUND:
        if not row["first"] and not row.get("strange"):
            return QUIET
        of_mishaps = {TOLD_AS[mishap] for mishap in row["mishaps"] if mishap in TOLD_AS}
        return TOLD if of_mishaps & set(row["first"]) else FALSE
    if kind == GROWING:
        if row["stop"] is None:
            return "no stop"
        return "named early" if row["lead"] >= EARLY_NIGHTS else "named late"
    if row.get("never ran"):
        return NEVER_RAN
    if kind == TWO:
        found = named(row)
        return ("neither named", "one named", "both named")[sum(one in found for one in causes)]
    if kind == SWALLOWED:
        after = row["learned"]
        if row["refused"]:
            return "refused"
        return of_one(causes[0], after) if after and after["first"] else "swallowed"
    return of_one(causes[0], row)


def of_one(cause: str, row: Row) -> str:
    """The verdict on a first answer."""
    first = row["first"]
    if not first:
        return "unseen"
    if cause in first:
        return RIGHT if len(first) == 1 else f"group of {len(first)}"
    return SURELY_WRONG if row["found"][0][1] >= SURE else "wrong"


def named(row: Row) -> set[str]:
    """All causes that are named, in whichever group."""
    return {name for group in row["troubles"] for name in group} if row["first"] else set()


def told(case: str, row: Row) -> str:
    """Of a bad one: what was said."""
    said = " or ".join(row["first"]) or "nothing"
    more = [str(row[key]) for key in ("found", "onset", "faults", "mishaps") if row.get(key)]
    return f"{said}; {' '.join(more)}"


def summary(rows: Rows) -> list[str]:
    """The figures."""
    kinds: dict[str, dict[str, Row]] = {}
    for case, row in rows.items():
        if verdict(case, row) == NEVER_RAN:
            continue
        kinds.setdefault(case.split("/")[0], {})[case] = row
    found = _of_single(kinds.get(ONE, {})) + _of_sound(kinds.get(SOUND, {}))
    found += _of_two(kinds.get(TWO, {})) + _of_growing(kinds.get(GROWING, {}))
    found += _of_learned(kinds.get(LEARNED, {}))
    found += [f"faults of sensors: {line}" for line in _by_cause(kinds.get(FITTED, {}))]
    if SWALLOWED in kinds:
        counts = Counter(verdict(case, row) for case, row in kinds[SWALLOWED].items())
        found.append(f"learn fed with a fault throughout, then why: {_counts(counts)}.")
    return found


def _of_single(rows: Rows) -> list[str]:
    if not rows:
        return []
    verdicts = {case: verdict(case, row) for case, row in rows.items()}
    counts = Counter(verdicts.values())
    groups = {size: n for name, n in counts.items() if (size := _size(name))}
    few = counts[RIGHT] + sum(n for size, n in groups.items() if size <= FEW)
    three = sum(
        case.split("/")[3] in [name for name, _ in row["found"][:_THREE]]
        for case, row in rows.items()
        if row["first"]
    )
    likeliest = sum(
        bool(row["first"]) and row["found"][0][0] == case.split("/")[3]
        for case, row in rows.items()
    )
    grouped = sum(groups.values())
    mean = sum(size * n for size, n in groups.items()) / max(grouped, 1)
    of = len(rows)
    found = [
        f"one moderate fault, {of} weeks: first answer right {_of(counts[RIGHT], of)}; right, or "
        f"a group of at most {FEW} with the truth {_of(few, of)} (goal {RIGHT_GOAL:.0%}); a "
        f"group with the truth {grouped}, mean size {mean:.1f}; the likeliest "
        f"{_of(likeliest, of)}, among the first three {_of(three, of)}; "
        f"wrong {counts['wrong']}, wrong and at least "
        f"{SURE:.0%} sure {_of(counts[SURELY_WRONG], of)} (goal {SURE_GOAL:.0%}); unseen "
        f"{_of(counts['unseen'], of)}."
    ]
    found += _by_cause(rows)
    extra = sum(len(row["troubles"]) > 1 for row in rows.values())
    found.append(f"weeks of one fault with a second one named: {_of(extra, of)}.")
    return found


def _by_cause(rows: Rows) -> list[str]:
    by_cause: dict[str, Counter[str]] = {}
    for case, row in rows.items():
        by_cause.setdefault(case.split("/")[3], Counter())[verdict(case, row)] += 1
    return [f"{cause}: {_counts(counts)}." for cause, counts in sorted(by_cause.items())]


def _of_sound(rows: Rows) -> list[str]:
    if not rows:
        return []
    false = [row for case, row in rows.items() if verdict(case, row) == FALSE]
    mishaps = sum(verdict(case, row) == TOLD for case, row in rows.items())
    said = Counter(" or ".join(row["first"]) or "another site" for row in false)
    with_mishap = Counter(mishap for row in false for mishap in row["mishaps"])
    return [
        f"sound weeks with mishaps: {_of(len(false), len(rows))} false alarms (goal "
        f"{FALSE_GOAL:.0%}): {_counts(said)}; mishaps in them: {_counts(with_mishap)}; in "
        f"{mishaps} the mishap itself was named."
    ]


def _of_two(rows: Rows) -> list[str]:
    if not rows:
        return []
    counts = Counter(verdict(case, row) for case, row in rows.items())
    third = sum(names_beside(case, row) for case, row in rows.items())
    return [
        f"two faults, {len(rows)} weeks: both {_of(counts['both named'], len(rows))} (goal "
        f"{BOTH_GOAL:.0%}), one {counts['one named']}, neither {counts['neither named']}; one "
        f"named that is not there {_of(third, len(rows))}."
    ]


def names_beside(case: str, row: Row) -> bool:
    """Whether a trouble is named that is not there."""
    truth = set(case.split("/")[3:])
    return any(not truth & set(group) for group in row["troubles"])


def _of_growing(rows: Rows) -> list[str]:
    stopped = [row for row in rows.values() if row["stop"] is not None]
    if not stopped:
        return []
    early = sum(row["lead"] >= EARLY_NIGHTS for row in stopped)
    leads = ", ".join(str(row["lead"]) for row in stopped)
    return [
        f"growing faults that came to a stop, {len(stopped)} of {len(rows)}: named to stay "
        f"{EARLY_NIGHTS} nights before it or more {_of(early, len(stopped))} (goal "
        f"{EARLY_GOAL:.0%}); nights: {leads}."
    ]


def _of_learned(rows: Rows) -> list[str]:
    both = {case: row for case, row in rows.items() if row["learned"]}
    if not both:
        return []
    without = Counter(verdict(case, row) for case, row in both.items())
    with_it = Counter(of_one(case.split("/")[3], row["learned"]) for case, row in both.items())
    return [
        f"the same {len(both)} weeks by the file: {_counts(without)}; after learn on the sound "
        f"nights before: {_counts(with_it)}."
    ]


def _size(name: str) -> int:
    words = name.split(" of ")
    return int(words[1]) if words[0] == "group" else 0


def _counts(counts: Counter[str]) -> str:
    return ", ".join(f"{n} {name}" for name, n in counts.most_common()) or "none"


def _of(found: int, of: int) -> str:
    return f"{found} of {of} ({found / max(of, 1):.0%})"


def cases(first: int) -> Iterable[str]:
    """Without an end."""
    return names(first)


def detail(case: str) -> list[str]:
    """The board's log."""
    return week_of(case).log()


PART = Part(
    "why",
    cases,
    attempt,
    "What `why` says of weeks on sites that differ from their files as an owner's does: one "
    "moderate fault from any hour on, two, growing ones, none but mishaps.",
    verdict=verdict,
    told=told,
    allowed={FALSE: FALSE_GOAL / 3, SURELY_WRONG: SURE_GOAL / 2},
    summary=summary,
    detail=detail,
    made_of=(*MADE_OF, "host/rillkeeper", "tests/campaign/why.py"),
    endless=True,
)
