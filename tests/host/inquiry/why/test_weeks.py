"""The campaign's weeks at their smallest: one of each kind on a site that is not as its file says.

How often `why` is right is measured there; here each kind of week is made, asked about and judged.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.inquiry.why.causes import CAUSES
from rillkeeper.inquiry.why.diagnosis import diagnose
from rillsim.faults.catalogue import BY_NAME
from tests.campaign import why
from tests.campaign.owned import CHEMISTRIES, LABEL_SHARE, PLACES, file_of, truth_of
from tests.campaign.part import Row
from tests.campaign.why_weeks import (
    DRIFTS,
    FAULTS,
    GROWING,
    HEAVIER,
    KINDS,
    MILDER,
    ONE,
    SOUND,
    SWALLOWED,
    TWO,
    Week,
    drawn,
    names,
    week_of,
)
from tests.host.inquiry.why.conftest import NIGHTS, Bench

pytestmark = pytest.mark.xdist_group("why")

Make = Callable[..., tuple[str, Week]]
CLAMP, FOOT = "cable or clamp resistance", "foot valve leaking"


@pytest.fixture
def make(bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Make:
    """A short week on the site whose trials are done; its logs are kept in a folder that goes."""

    def kept(week: Week, folder: Path = tmp_path) -> list[str]:
        return whole(week, folder)

    def asked_of(evidence: object, site: object) -> object:
        return diagnose(evidence, bench.site, bench.settings, bench.signatures)  # type: ignore[arg-type]

    whole = Week.log
    monkeypatch.setattr(Week, "log", kept)
    monkeypatch.setattr(why, "diagnosis_of", asked_of)

    def one(kind: str, seed: int, *causes: str, nights: int = NIGHTS) -> tuple[str, Week]:
        case = "/".join((kind, "0", str(seed), *causes))
        week = drawn(case, kind, seed, bench.site, bench.settings, causes, nights)
        monkeypatch.setattr(why, "week_of", lambda name: week)
        return case, week

    return one


def test_every_cause_has_its_moderate_fault() -> None:
    assert set(FAULTS) == {cause.name for cause in CAUSES if not cause.needs}
    assert set(DRIFTS) <= set(FAULTS)
    assert {fault for fault, _ in FAULTS.values()} <= set(BY_NAME)


def test_places_are_of_every_chemistry_and_truths_of_every_share() -> None:
    files = [file_of(place) for place in range(PLACES)]
    assert {site.battery.chemistry for site in files} == set(CHEMISTRIES)
    shares = [
        truth_of(files[0], seed).battery.measured_ah / files[0].battery.capacity_ah
        for seed in range(40)
    ]
    low, high = LABEL_SHARE
    assert low <= min(shares) < low + 0.05
    assert high - 0.05 < max(shares) <= high
    assert truth_of(files[0], 1) == truth_of(files[0], 1)


def test_a_name_is_all_that_a_week_is_made_of() -> None:
    cases = [name for _, name in zip(range(40), names(5), strict=False)]
    assert {case.split("/")[0] for case in cases} == set(KINDS) - {MILDER, HEAVIER}
    assert len(set(cases)) == len(cases)
    for case in cases:
        assert week_of(case) == week_of(case)


def test_a_sound_week_with_its_mishaps_is_quiet(make: Make) -> None:
    case, week = make(SOUND, 8)
    assert week.mishaps
    assert why.verdict(case, why.attempt(case)) == why.QUIET


def test_who_names_a_mishap_of_a_sound_week_is_right() -> None:
    row = {
        "first": ["battery not full", "tired battery"],
        "mishaps": ["not quite charged", "rain"],
    }
    assert why.verdict("sound/1/8", row) == why.TOLD
    assert why.verdict("sound/1/8", row | {"first": ["tired battery"]}) == why.FALSE
    assert why.verdict("sound/1/8", row | {"mishaps": ["rain"]}) == why.FALSE
    assert why.verdict("sound/1/8", row | {"first": []}) == why.QUIET


def test_one_fault_and_its_log_is_kept(make: Make, tmp_path: Path) -> None:
    case, week = make(ONE, 4, CLAMP)
    row = why.attempt(case)
    assert why.verdict(case, row) == why.RIGHT
    (kept,) = tmp_path.rglob("*.gz")
    before = kept.stat().st_mtime_ns
    assert why.attempt(case) == row
    assert kept.stat().st_mtime_ns == before
    assert week.log() == why.detail(case)


def test_two_faults(make: Make) -> None:
    case, _ = make(TWO, 4, CLAMP, FOOT)
    assert why.verdict(case, why.attempt(case)) == "both named"


def test_a_growing_fault_is_followed_back_from_its_stop(make: Make) -> None:
    case, week = make(GROWING, 3, CLAMP)
    assert week.nights > NIGHTS
    row = why.attempt(case)
    assert row["stop"] > row["lead"] > 0


def test_what_learn_is_not_to_swallow(make: Make) -> None:
    case, week = make(SWALLOWED, 3, FOOT, nights=2)
    assert week.faults[0].night == 1
    assert why.verdict(case, why.attempt(case)) == "refused"


@pytest.mark.parametrize(
    ("found", "verdict"),
    [
        ((("nozzle", 0.95),), "right"),
        ((("hose", 0.6), ("nozzle", 0.4)), "group of 2"),
        ((("hose", 0.85),), "wrong"),
        ((("hose", 0.95),), "wrong and sure"),
        ((), "unseen"),
    ],
)
def test_the_verdict_on_one_fault(found: tuple[tuple[str, float], ...], verdict: str) -> None:
    row: Row = {"first": [name for name, _ in found], "found": [list(one) for one in found]}
    assert why.of_one("nozzle", row) == verdict


def test_the_figures_count_what_cannot_be_seen() -> None:
    def row(*first: str) -> Row:
        found = [[name, 0.9] for name in first]
        return {"first": list(first), "found": found, "troubles": [list(first)], "mishaps": []}

    rows = {
        "one/0/1/pump worn": row("pump worn"),
        "one/0/2/pump worn": row(),
        "one/0/3/pump worn": row("relay worn", "pump worn"),
        "one/0/4/pump worn": row("relay worn"),
        "sound/0/5": row(),
        "sound/0/6": row("pump worn"),
    }
    single, *_ = why.summary(rows)
    assert "first answer right 1 of 4 (25%)" in single
    assert "group of at most 2 with the truth 2 of 4 (50%)" in single
    assert "sure 1 of 4 (25%)" in single
    assert "unseen 1 of 4 (25%)" in single
    sound = next(line for line in why.summary(rows) if line.startswith("sound"))
    assert "1 of 2 (50%) false alarms" in sound
