"""Nights left, predicted each morning, against what then happened to a hundred batteries.

Each battery is drawn by its number: chemistry, age, warmth, the length of the set. The site file
knows the chemistry and the rated size, but is wrong about age and warmth, as people are. The
nights are short and the batteries small, so that one lasts three to eight nights and the replay
is cheap. What happened is counted in nights: whole ones, and the share of the one that the
battery could not finish.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.errors import NoSafeLimit
from rillkeeper.morning.nights_left import nights_left
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.runlog.nights import Night
from rillkeeper.site.file import demo_site
from rillsim.replay import replay
from rillsim.site import BatterySpec, FaultSpec, SetSpec, Site
from tests.bench.table import Row

CHEMISTRIES = ("flooded", "agm", "lfp")
MEDIAN_GOAL = 0.5
OPTIMISM_GOAL = 1.0
NIGHTS_MAX = 12
HEALTH = (0.7, 1.0)
"""Of the charge that the label says: batteries in use, of which nobody has told the site file."""
BOARD_GOAL = 0.05
TOO_MANY = 0.5
"""Nights: so many too many are a broken promise."""
MISSING_PART = 0.95
"""Of a full charge: what the fault takes at severity 1."""
_GOLDEN = 0.6180339
"""Its multiples spread evenly, however many there are (Weyl)."""


@dataclass(frozen=True)
class Case:
    """One battery: what it is, and what its owner's site file says of it."""

    number: int
    real: Site
    thought: Site


@dataclass(frozen=True)
class Morning:
    """One prediction, and what came of it."""

    case: int
    chemistry: str
    after: int
    """Nights on this charge so far."""
    board: float
    middle: float
    low: float
    high: float
    came: float


def draw(number: int, worse: bool = False) -> Case:
    """The battery of this number, and a set that it can give for some nights.

    A ``worse`` one is also smaller than its label says, and was not charged to the full.
    """
    random = np.random.Generator(np.random.Philox(np.random.SeedSequence([20260705, number])))
    chemistry = CHEMISTRIES[number % len(CHEMISTRIES)]
    age, warmth_c = float(random.uniform(0.0, 1.0)), float(random.uniform(3.0, 28.0))
    age_off, warmth_off_c = float(random.uniform(-0.3, 0.3)), float(random.uniform(-6.0, 6.0))
    nights, minutes = float(random.uniform(3.0, 8.0)), int(random.integers(14, 27))
    label, missing = float(random.uniform(1.0, 1.3)), float(random.uniform(0.0, 0.15))
    base = demo_site()
    thought = BatterySpec(
        chemistry=chemistry,
        capacity_ah=60.0,
        age=round(min(1.0, max(0.0, age + age_off)), 2),
        temperature_c=round(warmth_c + warmth_off_c, 1),
    )
    site = replace(
        base,
        battery=thought,
        weather=replace(base.weather, rain_chance=0.0),
        sets=(SetSpec(start_s=base.sets[0].start_s, unit="minutes", amount=float(minutes)),),
        battery_trips=(),
        faults=(),
    )
    work = WorkingSite(site)
    night_ah = work.middle.point.current_a * minutes / 60.0 + 0.1
    usable = work.discharge * work.battery(1.0).capacity_ah(20.0) / thought.capacity_ah
    size_ah = round(nights * night_ah / usable, 1)
    thought = replace(thought, capacity_ah=size_ah)
    real = replace(thought, age=round(age, 3), temperature_c=round(warmth_c, 2))
    faults: tuple[FaultSpec, ...] = ()
    if worse:
        real = replace(real, capacity_ah=round(size_ah / label, 1))
        # It shows itself in the afternoon, after the board has taken the battery for full.
        faults = (FaultSpec("flat_battery", 1, -7200.0, missing / MISSING_PART, 60.0),)
    site = replace(site, battery=thought)
    return Case(number, replace(site, battery=real, faults=faults), site)


def draw_tired(number: int) -> Case:
    """The battery of this number with less charge than its label says, by how it was used."""
    case = draw(number)
    low, high = HEALTH
    health = low + (high - low) * (_GOLDEN * number % 1.0)
    sound = case.real.battery
    real = replace(sound, capacity_ah=round(sound.capacity_ah * health, 1))
    return replace(case, real=replace(case.real, battery=real))


def log_of(case: Case) -> tuple[str, ...]:
    """The board's log of a case, over more nights than the battery has; empty where no safe
    limits are found."""
    try:
        settings = settings_of(case.thought)
    except NoSafeLimit:
        return ()
    return replay(case.real, settings, nights=NIGHTS_MAX, seed=case.number).log


def mornings(case: Case, log: tuple[str, ...]) -> Iterator[Morning]:
    """A prediction from what the log had told by then, every morning until the battery is flat."""
    whole = report_of(log, case.thought, settings=settings_of(case.thought))
    given = [_share(night) for night in whole.nights]
    last = next((place for place, share in enumerate(given) if share < 1.0), None)
    if last is None:
        return
    for place in range(last):
        told = until(log, whole, place)
        left = nights_left(told.nights, told.site, told.settings)
        assert left.middle is not None
        assert left.low is not None
        assert left.high is not None
        tenths = told.nights[-1].nights_tenths
        assert tenths is not None
        yield Morning(
            case=case.number,
            chemistry=case.real.battery.chemistry,
            after=place + 1,
            board=tenths / 10.0,
            middle=left.middle,
            low=left.low,
            high=left.high,
            came=last - place - 1 + given[last],
        )


def _share(night: Night) -> float:
    """How much of its set a night gave; all of it counts as all."""
    return 1.0 if night.whole else night.share or 0.0


def until(log: tuple[str, ...], whole: Report, place: int) -> Report:
    """The report as it was at noon after that night."""
    entries = whole.log.entries
    day = whole.nights[place].day
    noon = next(n for n, entry in enumerate(entries) if entry.night > day)
    told = report_of(log[: noon + 1], whole.site, settings=whole.settings)
    return replace(told, nights=told.nights[: place + 1])


def rows(count: int = 100, worse_count: int = 40) -> list[Row]:
    """The figures, all batteries together and by chemistry, host and board beside each other."""
    found = _predictions(count, worse=False)
    worse = _predictions(min(count, worse_count), worse=True)
    return [
        _row(f"nights left, {_batteries(found)} batteries", found, asked=True),
        *(_row(f"  {name}", [m for m in found if m.chemistry == name]) for name in CHEMISTRIES),
        _band_row(found),
        _row(f"  {_batteries(worse)} that are less than their label", worse),
        _band_row(worse),
        _board_row([draw_tired(number) for number in range(min(count, worse_count))]),
    ]


def _board_row(cases: list[Case]) -> Row:
    """What the board says by itself: a lower bound."""
    found = _mornings(cases)
    off = np.array([one.board - one.came for one in found])
    share = float(np.mean(off > TOO_MANY))
    return Row(
        f"  the board's own, {_batteries(found)} of 0.7 to 1 of their label: too many by half",
        f"{100.0 * share:.0f} %; median {np.median(off):+.2f} night",
        "-",
        f"{len(found)} mornings",
        f"{100.0 * BOARD_GOAL:.0f} %",
        share <= BOARD_GOAL,
    )


def _predictions(count: int, worse: bool) -> list[Morning]:
    return _mornings([draw(number, worse) for number in range(count)])


def _mornings(cases: list[Case]) -> list[Morning]:
    return [morning for case in cases for morning in mornings(case, log_of(case))]


def _batteries(found: list[Morning]) -> int:
    return len({morning.case for morning in found})


def _band_row(found: list[Morning]) -> Row:
    """A tenth of a night is what the board's own count is told in."""
    inside = np.mean([one.low - 0.05 <= one.came <= one.high + 0.05 for one in found])
    return Row("  what came lies in the band of 80 %", f"{100.0 * inside:.0f} %")


def _row(figure: str, found: list[Morning], asked: bool = False) -> Row:
    ours = np.array([one.middle - one.came for one in found])
    board = np.array([one.board - one.came for one in found])
    median, optimism = _figures(ours)
    goal = f"{MEDIAN_GOAL:g} and {OPTIMISM_GOAL:g} night" if asked else "-"
    met = median <= MEDIAN_GOAL and optimism <= OPTIMISM_GOAL if asked else None
    return Row(
        f"{figure}: middle error; at most too many in 19 of 20",
        f"{median:.2f}; {optimism:+.2f} night",
        "the board's count: {:.2f}; {:+.2f}".format(*_figures(board)),
        f"{len(found)} mornings",
        goal,
        met,
    )


def _figures(off: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> tuple[float, float]:
    """Median of the error without its sign, and how far the 95th of a hundred is too high."""
    return float(np.median(np.abs(off))), float(np.quantile(off, 0.95))
