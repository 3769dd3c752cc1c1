"""Weeks for `why`: sound ones with mishaps, faults that begin at any hour, two at once, growing.

A week is its name, KIND/PLACE/SEED or with causes behind it; all that is drawn comes from that.
What the board wrote is kept in `.campaign/weeks`, so that a change in `why` is judged anew on the
same logs in seconds.
"""

import gzip
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.errors import RillkeeperError
from rillsim.faults.fittings import board_with, needs_of
from rillsim.replay import replay
from rillsim.site import BatteryTrip, FaultSpec, Site
from tests.campaign.kept import FOLDER, tree_of
from tests.campaign.owned import NIGHTS, PLACES, file_of, truth_of
from tests.campaign.part import WORLD
from tests.scenarios.person import Deed, tick_of
from tests.scenarios.scenario import Scenario
from tests.scenarios.stage import play

SOUND, ONE, TWO, GROWING, LEARNED, SWALLOWED, MILDER, HEAVIER, FITTED = KINDS = (
    *("sound", "one", "two", "growing", "learned", "swallowed", "milder", "heavier", "fitted"),
)
WEEKS = "weeks"
MADE_OF = (*WORLD, "tests/campaign/owned.py", "tests/campaign/why_weeks.py", "tests/scenarios")

# fmt: off
FAULTS = {
    # cause                         fault                moderate
    "strainer blocking":            ("strainer_blocking", 0.75),
    "suction air leak":             ("air_leak",          0.1),
    "foot valve leaking":           ("foot_valve_leak",   0.02),
    "source falling":               ("source_falling",    0.7),  # times the cover
    "hose kinked or crushed":       ("hose_kinked",       0.75),
    "hose burst or slipped":        ("hose_burst",        0.2),
    "sprinkler blocked":            ("sprinkler_blocked", 0.15),
    "nozzle worn or gone":          ("nozzle_worn",       0.5),
    "pump worn":                    ("pump_worn",         0.35),
    "pump stiff or stuck":          ("pump_stalled",      0.12),
    "cable or clamp resistance":    ("corroded_clamp",    0.07),
    "tired battery":                ("battery_tired",     0.5),
    "cold battery":                 ("battery_cold",      0.6),
    "battery not full":             ("flat_battery",      0.15),
    "pressure sensor off or stuck": ("pressure_offset",   0.4),  # up or down
    "battery reading off or stuck": ("battery_offset",    0.4),  # up or down
    "relay worn":                   ("relay_worn",        0.3),
}
# fmt: on
"""Every cause that `why` knows, at a severity that a person would call moderate."""
# fmt: off
OTHERWISE = {
    # cause                         milder, heavier
    "strainer blocking":            (0.5, 0.88),
    "suction air leak":             (0.03, 0.3),
    "foot valve leaking":           (0.006, 0.06),
    "source falling":               (0.4, 0.95),
    "hose kinked or crushed":       (0.55, 0.87),
    "hose burst or slipped":        (0.06, 0.5),
    "sprinkler blocked":            (0.07, 0.25),
    "nozzle worn or gone":          (0.2, 1.0),
    "pump worn":                    (0.12, 0.8),
    "pump stiff or stuck":          (0.04, 0.3),
    "cable or clamp resistance":    (0.025, 0.2),
    "tired battery":                (0.2, 0.9),
    "cold battery":                 (0.25, 1.0),
    "battery not full":             (0.06, 0.35),
    "pressure sensor off or stuck": (0.15, 1.0),
    "battery reading off or stuck": (0.15, 1.0),
    "relay worn":                   (0.1, 0.7),
}
# fmt: on
"""A severity that one would hardly feel, and one that nobody overlooks."""
WITHIN = (0.8, 1.25)
"""The severity is drawn around it."""
# fmt: off
OF_SENSORS = {
    # cause                         fault                moderate
    "pressure sensor off or stuck": ("pressure_port_clogged", 1.25),  # whole, whatever is drawn
    "flow meter stuck or slow":     ("meter_stuck",       0.4),
    "current reading off":          ("current_offset",    0.4),  # up or down
}
# fmt: on
"""Faults of sensors that not every board has, and a way of one that has others too: weeks of the
kind ``FITTED``, on a site that is given the sensor."""
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
TRIPS = (3, 6, 9, 12)
MISHAPS = (
    *("restart in mid-run", "charged late", "not quite charged", "hand run", "rain"),
    *("clock set", "new settings", "another nozzle"),
)
MISHAPS_MAX = 2
_DAY_S = 86400


@dataclass
class Week:
    """One week before it is replayed."""

    name: str
    kind: str
    seed: int
    file: Site
    """As the owner's file has it on the last morning."""
    truth: Site
    settings: dict[str, int]
    """What the board was set up with."""
    nights: int = NIGHTS
    faults: tuple[FaultSpec, ...] = ()
    causes: tuple[str, ...] = ()
    mishaps: tuple[str, ...] = ()
    deeds: list[Deed] = field(default_factory=list)

    def log(self, folder: Path = FOLDER) -> list[str]:
        """What the board wrote; from the disk where it is there."""
        name = hashlib.sha256(f"{self.name} {_tree()}".encode()).hexdigest()[:20]
        kept = folder / WEEKS / f"{name}.gz"
        if kept.exists():
            return gzip.decompress(kept.read_bytes()).decode().splitlines()
        lines = list(self._replayed())
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(gzip.compress("\n".join(lines).encode()))
        return lines

    def _replayed(self) -> tuple[str, ...]:
        site = replace(self.truth, faults=self.faults)
        if not self.deeds:
            week = replay(site, self.settings, nights=self.nights, seed=self.seed, fast=True)
            return week.log
        deeds = tuple(sorted(self.deeds, key=lambda deed: deed.n))
        scenario = Scenario(
            *(self.name, "", site, self.settings, (), "", ""),
            nights=self.nights,
            seed=self.seed,
            deeds=deeds,
        )
        return play(scenario).week.log


@cache
def _tree() -> str:
    return tree_of(MADE_OF)


def week_of(name: str) -> Week:
    """The week of a name."""
    kind, place, seed, *causes = name.split("/")
    site = file_of(int(place))
    if kind == FITTED:
        faults = (OF_SENSORS[cause][0] for cause in causes)
        site = replace(site, board=board_with(site.board, needs_of(*faults)))
    return drawn(name, kind, int(seed), site, settings_of(site), tuple(causes))


def drawn(
    name: str,
    kind: str,
    seed: int,
    site: Site,
    settings: dict[str, int],
    causes: tuple[str, ...] = (),
    nights: int = NIGHTS,
) -> Week:
    """A week of a kind on a site."""
    week = Week(name, kind, seed, site, truth_of(site, seed), settings, nights, causes=causes)
    rng = np.random.default_rng((seed, KINDS.index(kind)))
    if kind == SOUND:
        _mishaps(week, rng)
    elif kind == GROWING:
        _grow(week, rng)
    else:
        first = kind == SWALLOWED
        week.faults = tuple(_fault(week, cause, rng, first) for cause in causes)
    return week


def _fault(week: Week, cause: str, rng: np.random.Generator, first: bool) -> FaultSpec:
    """Begins in any night, at any hour, before the last set; or before all of them."""
    fault, moderate = (OF_SENSORS if week.kind == FITTED else FAULTS)[cause]
    if week.kind in (MILDER, HEAVIER):
        moderate = OTHERWISE[cause][week.kind == HEAVIER]
    severity = min(moderate * rng.uniform(*WITHIN), 1.0)
    if fault == "source_falling":
        severity *= week.truth.water.cover_m
    if fault.endswith("offset") and rng.integers(2):
        severity = -severity
    night, offset_s = (1, -8 * 3600.0) if first else onset_of(week, rng)
    return FaultSpec(fault, night, offset_s, severity)


def onset_of(week: Week, rng: np.random.Generator) -> tuple[int, float]:
    """In any night, at any hour, before the last set: the night, and from its first set [s]."""
    night = int(rng.integers(1, week.nights + 1))
    return night, float(rng.uniform(-10.0, 14.0 if night < week.nights else 0.0)) * 3600.0


def _grow(week: Week, rng: np.random.Generator) -> None:
    (cause,) = week.causes
    fault, severity = FAULTS[cause][0], DRIFTS[cause]
    if fault == "source_falling":
        severity *= week.truth.water.cover_m
    week.nights = DRIFT_NIGHTS
    night, offset_s = int(rng.integers(2, 4)), float(rng.uniform(-10.0, 14.0)) * 3600.0
    week.faults = (
        FaultSpec(fault, night, offset_s, severity, grows_s=GROWTH_NIGHTS * float(_DAY_S)),
    )
    week.truth = replace(week.truth, battery_trips=tuple(map(BatteryTrip, TRIPS)))


def _mishaps(week: Week, rng: np.random.Generator) -> None:
    """What happens to sound sites; none in a third of the weeks."""
    count = int(rng.integers(MISHAPS_MAX + 1))
    week.mishaps = tuple(map(str, rng.choice(MISHAPS, count, replace=False)))
    for turn, mishap in enumerate(week.mishaps):
        # Apart from each other: nobody sends settings to a board without its battery.
        _mishap(week, mishap, int(rng.integers(2, 4)) + 3 * turn, rng)


def _mishap(week: Week, mishap: str, night: int, rng: np.random.Generator) -> None:
    truth = week.truth
    if mishap == "restart in mid-run":
        run_s = 60.0 * truth.sets[0].amount
        lifted = FaultSpec("battery_lifted", night, float(rng.uniform(0.2, 0.8)) * run_s, 1.0, 5.0)
        week.faults += (lifted,)
    elif mishap == "charged late":
        week.truth = replace(truth, battery_trips=(BatteryTrip(night, back_at_s=23 * 3600),))
    elif mishap == "not quite charged":
        share = float(rng.uniform(0.85, 0.97))
        week.truth = replace(truth, battery_trips=(BatteryTrip(night, charged=share),))
    elif mishap == "hand run":
        week.deeds.append(Deed(tick_of(f"18:{int(rng.integers(60)):02}@{night}"), "run", 4.0))
    elif mishap == "rain":
        week.faults += (FaultSpec("rain", night, float(rng.uniform(-1800.0, 900.0)), 1.0, 7200.0),)
    elif mishap == "clock set":
        week.faults += (FaultSpec("clock_back", night, -20000.0, 0.5, 3600.0),)
        week.deeds.append(Deed(tick_of(f"18:40@{night}"), "set-clock"))
    elif mishap == "new settings":
        week.deeds.append(_new_settings(week, night, float(rng.integers(8, 25))))
    else:
        _another_nozzle(week, night, float(rng.choice((0.9, 1.1))))


def _new_settings(week: Week, night: int, minutes: float) -> Deed:
    """The set gets another length."""
    site = replace(week.file, sets=(replace(week.file.sets[0], amount=minutes),))
    return Deed(tick_of(f"17:30@{night}"), "apply", settings=tuple(settings_of(site).items()))


def _another_nozzle(week: Week, night: int, factor: float) -> None:
    """The owner writes it into the file, sends new limits, and has the board learn it; or leaves
    the old one in, where no safe limits come of it."""

    def other(site: Site) -> Site:
        bore_m = site.sprinkler.nozzle_bore_m * factor
        return replace(site, sprinkler=replace(site.sprinkler, nozzle_bore_m=bore_m))

    try:
        settings = tuple(settings_of(other(week.file)).items())
    except RillkeeperError:
        return
    week.file = other(week.file)
    n = tick_of(f"17:10@{night}")
    week.deeds += [
        Deed(n, "fit", site=other(week.truth)),
        Deed(n + 600, "apply", settings=settings),
        Deed(n + 1200, "relearn"),
    ]


def names(first: int) -> Iterator[str]:
    """Without an end: of 35 weeks 18 have one fault, 11 none, 3 two, 1 grows, 2 are learned."""
    causes, drifts, sensors = tuple(FAULTS), tuple(DRIFTS), tuple(OF_SENSORS)
    turn = 0
    seed = first
    while True:
        for number, cause in enumerate(causes):
            yield f"{ONE}/{(number + turn) % PLACES}/{seed}/{cause}"
            seed += 1
            if number % 3 != 2:
                yield f"{SOUND}/{(number + 5 * turn) % PLACES}/{seed}"
                seed += 1
        for more in (3, 7, 12):
            one, other = causes[(turn + more) % 17], causes[(turn + 2 * more + 1) % 17]
            yield f"{TWO}/{(turn + more) % PLACES}/{seed}/{one}/{other}"
            seed += 1
        yield f"{GROWING}/{turn % PLACES}/{seed}/{drifts[turn % len(drifts)]}"
        for kind in (LEARNED, SWALLOWED):
            yield f"{kind}/{turn % PLACES}/{seed}/{causes[(5 * turn + 3) % 17]}"
        yield f"{FITTED}/{turn % PLACES}/{seed}/{sensors[turn % len(sensors)]}"
        seed += 1
        turn += 1


def sound_before(week: Week) -> Week:
    """The sound nights of the same site before the week, to learn from."""
    return replace(week, name=f"{week.name} before", faults=(), deeds=[])
