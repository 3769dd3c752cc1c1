"""Plays every story: what people do with a sound board costs no night of water by mistake.

A story is held against what the plant gave, night by night, beside what the board said; and some
against what the desktop says of the log afterwards.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from keeper import memory
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.why.diagnosis import diagnose
from rillkeeper.inquiry.why.signatures import Signatures, work_out
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillsim.replay import NIGHT_TICKS
from rillsim.site import SetSpec, Site

from .drawn_story import draw_story, wrong_story
from .person import CannotBeDone
from .scenario import Scenario, read_scenario, story_files
from .stage import Played, misses, play
from .whole import play_whole

FILES = story_files()
STORIES_DRAWN = 4
WAITING: dict[str, str] = {}
"""Stories that fail until the finding is mended; each goes from here with its mend."""


@cache
def signatures_of(site: Site) -> Signatures:
    """They take a while: stories that ask end with the parts of ``site.toml``."""
    return work_out(site, settings_of(site))


def bare(site: Site) -> Site:
    """What the troubles of a site are tried out on: they have a night of their own."""
    return replace(site, name="", sets=(SetSpec(amount=12.0),), faults=(), battery_trips=())


def named(scenario: Scenario, played: Played) -> tuple[str, ...]:
    """The causes that `rillkeeper why` names, out of the log since parts were fitted last."""
    fitted_n = max((deed.n for deed in scenario.deeds if deed.site is not None), default=-1)
    site = scenario.site_at(scenario.nights * NIGHT_TICKS)
    lines = [
        line for line, told in zip(played.week.log, played.told, strict=True) if told.n > fitted_n
    ]
    evidence = nights_of(read_log(lines), site.board, complete=True).acted
    found = diagnose(evidence, site, settings_of(site), signatures_of(bare(site)))
    return tuple(name for trouble in found.troubles for name in trouble.names)


def marked(path: Path) -> object:
    waits = WAITING.get(path.stem)
    marks = [pytest.mark.xfail(reason=waits, strict=True)] if waits else []
    if "\nwhy =" in path.read_text(encoding="utf-8"):
        marks.append(pytest.mark.xdist_group("stories"))  # One process works signatures out.
    return pytest.param(path, id=path.stem, marks=marks)


@pytest.mark.parametrize("path", [marked(path) for path in FILES])
def test_as_it_must_be(path: Path, need: Callable[[str], Path], tmp_path: Path) -> None:
    scenario = read_scenario(path)
    if scenario.answers:
        played, answers = play_whole(scenario, need("micropython"), tmp_path)
    else:
        played, answers = play(scenario), []
    found = misses(scenario, played)
    if not all(map(str.startswith, answers, scenario.answers)):
        found.append(f"the answers were {answers}")
    if not found and scenario.why is not None:
        names = named(scenario, played)
        found += [f"why names {names}, not {scenario.why}"] if names != scenario.why else []
    assert not found, f"{path.name}, seed {scenario.seed}: " + "; ".join(found)


def test_what_waits_is_a_story() -> None:
    assert set(WAITING) <= {path.stem for path in FILES}


def test_every_story_says_what_it_is_and_what_was_watered() -> None:
    stories = [read_scenario(path) for path in FILES]
    assert all(story.what.endswith(".") for story in stories)
    assert len({story.what for story in stories}) == len(stories)
    assert all(story.watered_s for story in stories)


# The runner itself must be able to say no.

GOOD = 'what = "A."\nexpect = []\nend = "idle"\nset = "complete"\n'


def written(folder: Path, more: str) -> Path:
    path = folder / "made.toml"
    path.write_text(GOOD + more, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("more", "complaint"),
    [
        ('[watered]\n"1" = "11 min"\n', "night 1: 12.2 min of water, not 11.0"),
        ('[watered]\n"1" = "13 min"\n', "night 1: 12.2 min of water, not 13.0"),
        ('begins = ["22:02@1"]\n', "sets were begun at 22:00@1"),
        ("begins = []\n", "sets were begun at 22:00@1"),
    ],
)
def test_water_or_a_start_that_is_not_as_told_is_a_miss(
    more: str, complaint: str, tmp_path: Path
) -> None:
    scenario = read_scenario(written(tmp_path, more))
    assert misses(scenario, play(scenario)) == [complaint]


@pytest.mark.parametrize(
    ("more", "complaint"),
    [
        ('person = ["18:00 run 5"]', "not written like 18:00@1"),
        ('person = ["18:00@1 walk 5"]', "nothing that a person does"),
        ('person = ["18:00@1 fit nozzle"]', "nothing that a person does"),
        ('person = ["18:00@1 battery home"]', "does not come back"),
        ('person = ["18:00@1 battery back 50 %"]', "has not left"),
        ('[watered]\n"2" = "12 min"', "speaks of nights"),
    ],
)
def test_a_misspelt_story_is_refused(more: str, complaint: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=complaint):
        read_scenario(written(tmp_path, more))


@pytest.mark.parametrize(
    ("person", "complaint"),
    [
        (["18:00@1 battery home", "19:00@1 run 5", "20:00@1 battery back 90 %"], "had no power"),
        (["22:05@1 apply limits"], "the pump runs"),
        (["18:00@1 run 1"] * 5, "busy"),
    ],
)
def test_nobody_does_what_cannot_be_done(
    person: list[str], complaint: str, tmp_path: Path
) -> None:
    scenario = read_scenario(written(tmp_path, f"person = {person}"))
    with pytest.raises(CannotBeDone, match=complaint):
        play(scenario)


# Stories that chance tells; `make campaign` draws others.


@pytest.mark.parametrize("seed", range(STORIES_DRAWN))
def test_a_drawn_story(seed: int) -> None:
    found = wrong_story(seed)
    assert not found, f"{found}:\n{draw_story(seed)}"


def test_a_drawn_story_can_go_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a board that remembers nothing over a start."""
    monkeypatch.setattr(memory, "load", lambda _keeper, _text: None)
    assert any(wrong_story(seed) for seed in range(STORIES_DRAWN))
