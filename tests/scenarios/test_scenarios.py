"""Plays every scenario; strikes every protection once and sees that its scenario misses it."""

from functools import cache
from pathlib import Path

import pytest

from keeper.rules import ACTION, ACTIONS, NAME, RULES
from rillsim.faults.catalogue import CATALOGUE

from . import stage
from .events import RULE_NAMES
from .scenario import Scenario, read_scenario, scenario_files
from .stage import Played, misses, play

FILES = scenario_files()
BACKED_UP = {"swapped": "bad battery", "bad frost": "frost"}
"""Where the rule is gone, this one stops the board at the same tick."""
SAYS_ONLY = {row[NAME] for row in RULES if ACTIONS[row[ACTION]] in ("warn", "by hand")}


@cache
def scenario_of(path: Path) -> Scenario:
    return read_scenario(path)


def scenarios() -> list[Scenario]:
    return [scenario_of(path) for path in FILES]


@cache
def whole(path: Path) -> Played:
    """Played by the whole board, once for all tests."""
    return play(scenario_of(path))


def trips(scenario: Scenario) -> set[str]:
    """The rules that act in it; cutting a set short is the charge reserve's doing."""
    events = [entry.event for entry in scenario.expect]
    names = {event.partition(" ")[2] for event in events if event[:4] in ("trip", "warn")}
    return names | ({"charge reserve"} if "short" in events else set())


def with_rule(rule: str) -> Path:
    """A scenario whose first event is this rule's, or else one in which it acts at all."""
    acting = [path for path in FILES if rule in trips(scenario_of(path))]
    assert acting, f"no scenario shows what {rule!r} does"
    its_own = (f"trip {rule}", f"warn {rule}")
    first = [path for path in acting if scenario_of(path).expect[0].event in its_own]
    return (first or acting)[0]


@pytest.mark.xdist_group("scenarios")
@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_as_expected(path: Path) -> None:
    scenario = scenario_of(path)
    found = misses(scenario, whole(path))
    assert not found, f"{path.name}, seed {scenario.seed}: " + "; ".join(found)


@pytest.mark.xdist_group("scenarios")
@pytest.mark.parametrize("rule", RULE_NAMES)
def test_a_deleted_protection_is_missed(rule: str) -> None:
    """Its trip is missing, and unless it only warns, the board does something else.

    Two rules give another one its right name: there the other one acts in their place.
    """
    path = with_rule(rule)
    scenario = scenario_of(path)
    lamed = play(scenario, without=rule)
    assert not misses(scenario, whole(path))
    assert misses(scenario, lamed)
    if rule in BACKED_UP:
        assert lamed.set_end == BACKED_UP[rule]
    elif rule not in SAYS_ONLY:
        assert lamed.states != whole(path).states


def test_every_rule_and_every_fault_has_a_scenario() -> None:
    rules = set().union(*(trips(scenario) for scenario in scenarios()))
    assert rules == set(RULE_NAMES)
    faults = {spec.name for scenario in scenarios() for spec in scenario.site.faults}
    assert faults == {fault.name for fault in CATALOGUE}


def test_every_scenario_says_what_it_is() -> None:
    whats = [scenario.what for scenario in scenarios()]
    assert all(what.endswith(".") for what in whats)
    assert len(set(whats)) == len(whats)


# The runner itself must be able to say no.

GOOD = 'what = "A."\nfaults = [{faults}]\nexpect = [{expect}]\nend = "idle"\nset = "complete"\n'


def written(folder: Path, faults: str = "", expect: str = "", more: str = "") -> Path:
    path = folder / "made.toml"
    path.write_text(more + GOOD.format(faults=faults, expect=expect), encoding="utf-8")
    return path


def test_a_fault_that_is_not_felt_is_a_miss(tmp_path: Path) -> None:
    path = written(tmp_path, '"strainer_blocking@1+2min:0.01"')
    scenario = read_scenario(path)
    assert misses(scenario, play(scenario)) == ["fault strainer_blocking was not felt"]


@pytest.mark.parametrize(
    ("faults", "expect", "complaint"),
    [
        ('"outlet_shut@1+4min"', "", "there was"),
        ("", '"trip dead head"', "expected"),
        ('"corroded_clamp@1-1h:0.14"', '"warn weak supply within 1 s of the start"', "came"),
    ],
)
def test_an_event_too_many_too_few_or_too_late_is_a_miss(
    faults: str, expect: str, complaint: str, tmp_path: Path
) -> None:
    scenario = read_scenario(written(tmp_path, faults, expect))
    assert complaint in "; ".join(misses(scenario, play(scenario)))


def test_what_must_never_be_is_a_miss(tmp_path: Path) -> None:
    scenario = read_scenario(written(tmp_path, more='never = ["start"]\n'))
    assert misses(scenario, play(scenario)) == ["there was a 'start', which must never be"]


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"more": "nigths = 2\n"}, "nothing is called nigths"),
        ({"expect": '"trip ded head"'}, "no event of the log"),
        ({"expect": '"trip dead head within 2 s of outlet_shut"'}, "does not happen"),
        ({"more": 'stalls = ["soon"]\n'}, "is not written like"),
    ],
)
def test_a_misspelt_scenario_is_refused(
    change: dict[str, str], complaint: str, tmp_path: Path
) -> None:
    with pytest.raises(ValueError, match=complaint):
        read_scenario(written(tmp_path, **change))


def test_the_table_is_whole_after_a_struck_rule() -> None:
    """Striking a rule is undone: the next scenario meets the whole board."""
    scenario = scenario_of(with_rule("dead head"))
    play(scenario, without="dead head")
    assert stage.core.Guard is stage.Guard
    assert not misses(scenario, play(scenario))
