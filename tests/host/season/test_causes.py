"""Why nights were cut or missed: the plant's cause, and not what the board took it for."""

from dataclasses import replace

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.season import reasons
from rillkeeper.season.answer import answer_of
from rillkeeper.season.causes import (
    AWAY,
    BY_CHANCE,
    DOUBTED,
    EMPTY,
    SOURCE,
    SetTime,
    cause_of,
    causes_of,
)
from rillkeeper.season.documents import document
from rillkeeper.season.task import Result, Task, play
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, HomeSpec, Site, WaterSource
from tests.host.season.few import season, short_site, store, variant

DRY_SKY = {"rain_chance": 0.0}


def dry(site: Site) -> Site:
    return replace(site, weather=replace(site.weather, **DRY_SKY))


def sinking() -> Site:
    """0.3 m over the strainer, 0.2 m less every day: the third night's set finds it bare."""
    return dry(
        replace(short_site(), water=replace(short_site().water, cover_m=0.3, fall_m_per_day=0.2))
    )


def played(site: Site, nights: int) -> Result:
    return play(Task(site, settings_of(site), nights, 1, 0))


def test_a_pond_below_the_strainer_is_named() -> None:
    found = played(sinking(), 3)
    # 0.3 / 0.2 is 1.5 days from noon: at ten in the second evening it is 0.02 m above.
    # What stands in the suction line is all that the third night gets.
    assert found["kinds"] == ["full", "full", "cut"]
    assert set(found["causes"]) == {SOURCE}
    assert found["causes"][SOURCE]["nights"] == 1
    one = answer_of("a", sinking(), store([found]), 0, 0)
    told = reasons.reasons(one)
    assert told.startswith("What cuts or stops nights: the source is below the strainer (")
    assert 'the board says "' in told
    assert "falls 200.0 mm a day and stands 0.3 m over the strainer" in reasons.helps(one, 3)
    (why,) = document([one], 3, 1)["variants"][0]["why"]
    assert why["cause"] == SOURCE
    assert why["nights"] == 1
    assert "strainer 0.3 m lower" in why["would_help"]
    assert set(why["board_said"]) & {"dry run", "no prime"}


def test_a_battery_that_is_not_carried_home_is_named() -> None:
    long_set = replace(short_site().sets[0], amount=100.0)
    site = dry(replace(short_site(), home=HomeSpec(), sets=(long_set,)))
    found = played(site, 5)
    assert found["kinds"][0] == "full"
    assert found["kinds"][-1] == "missed"
    assert set(found["causes"]) == {EMPTY}


def test_a_battery_that_is_away_at_the_set_is_named_and_its_trips_are_the_plants() -> None:
    """Back at three in the night. The board does not see that so full a battery was away."""
    home = HomeSpec(every_nights=2, away_from_s=9 * 3600, back_at_s=3 * 3600, looks_every=1)
    found = played(dry(replace(short_site(), home=home)), 4)
    assert found["kinds"] == ["full", "full", "missed", "full"]
    assert found["causes"] == {AWAY: {"nights": 1, "said": {"missed": 1}}}
    assert found["trips"] == [2]


@pytest.fixture(scope="module")
def burst() -> tuple[Week, FaultSpec]:
    fault = FaultSpec("hose_burst", 1, 200.0, 0.9)
    site = dry(replace(short_site(), faults=(fault,)))
    return replay(site, settings_of(site), nights=1, seed=1, fast=True), fault


def test_a_fault_that_came_by_chance_is_named(burst: tuple[Week, FaultSpec]) -> None:
    week, fault = burst
    assert causes_of(week, [["line open"]], (fault,)) == [f"{BY_CHANCE}hose_burst"]
    assert "came by chance" in reasons.cause_words(f"{BY_CHANCE}hose_burst")
    # Not one that came when the set was over, nor one that nothing was felt of.
    late = replace(fault, offset_s=9 * 3600.0)
    assert cause_of(week, 0, ["line open"], (late,), "") == "line open"
    assert causes_of(week, [["line open"]], (late,)) == ["line open"]


@pytest.mark.parametrize(
    ("there", "said", "cause"),
    [
        (SetTime(True, True, 1.0), "no prime", SOURCE),
        (SetTime(False, True, 1.0), "missed", AWAY),
        (SetTime(False, False, 0.5), "charge reserve", EMPTY),
        (SetTime(False, False, 0.49), "charge reserve", DOUBTED),
        (SetTime(False, False, 0.0), "missed", "the night before"),
        (SetTime(False, False, 0.9), "dry run", "dry run"),
    ],
)
def test_the_first_that_holds_counts(
    monkeypatch: pytest.MonkeyPatch,
    burst: tuple[Week, FaultSpec],
    there: SetTime,
    said: str,
    cause: str,
) -> None:
    monkeypatch.setattr("rillkeeper.season.causes.set_time", lambda week, night: there)
    assert cause_of(burst[0], 0, [said], (), "the night before") == cause


def told_of(cause: str, site: Site) -> str:
    one = season(1) | {"causes": {cause: {"nights": 4, "said": {"no prime": 4}}}}
    return reasons.helps(answer_of("a", site, store([one]), 0, 0), 100)


def test_each_cause_has_its_help() -> None:
    site = short_site()
    stored = replace(site, water=WaterSource(stored_m3=2.0))
    assert "a larger store" in told_of(SOURCE, stored)
    assert told_of(SOURCE, replace(site, water=WaterSource())) == ""
    seldom = replace(site, home=HomeSpec(when_asked=True, looks_every=3))
    assert "look at the board every day" in told_of(EMPTY, seldom)
    assert "when the board asks" in told_of(EMPTY, replace(site, home=HomeSpec(every_nights=5)))
    assert "back before the first set begins, at 22:00" in told_of(AWAY, site)
    assert "rillkeeper capacity" in told_of(DOUBTED, site)
    assert "oftener than every 3 days" in told_of(f"{BY_CHANCE}hose_burst", seldom)
    assert "looks at all" in told_of(f"{BY_CHANCE}hose_burst", replace(site, home=HomeSpec()))
    assert told_of("no prime", site).startswith("Is the strainer under water?")
    assert reasons.helps(variant(1), 10) == ""
