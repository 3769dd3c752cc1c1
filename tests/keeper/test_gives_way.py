"""A rule that names a symptom waits for its cause, and no longer than the cause's own hold."""

import pytest

from keeper.rules import GIVES_WAY_TO, HOLD, NAME, RULES, WATCHED_IN

from .bench import RULE_NAMES, Bench

ROWS = {row[NAME]: row for row in RULES}
PAIRS = [(row[NAME], cause) for row in RULES for cause in row[GIVES_WAY_TO].split(", ") if cause]
LONGEST_MS = 2000


def hold_ms(rule: str) -> int:
    hold = ROWS[rule][HOLD]
    return hold if isinstance(hold, int) else int(getattr(Bench().settings, hold))


@pytest.mark.parametrize(("symptom", "cause"), PAIRS)
def test_a_cause_is_a_rule_that_acts_soon_where_its_symptom_is_watched(
    symptom: str, cause: str
) -> None:
    assert hold_ms(cause) <= max(LONGEST_MS, hold_ms(symptom))
    assert set(ROWS[cause][WATCHED_IN].split()) & set(ROWS[symptom][WATCHED_IN].split())
    assert symptom not in ROWS[cause][GIVES_WAY_TO].split(", "), "no two wait for each other"


def pumping(**changes: int) -> Bench:
    bench = Bench(**changes)
    bench.go("run")
    bench.ticks(8000)
    return bench


def test_the_symptom_acts_when_the_cause_is_over() -> None:
    """Most of a second dead and unfed, then the load side lives again: the wire is off."""
    bench = pumping()
    bench.raw["battery"] = 0
    bench.load_on = 0
    bench.ticks(900)
    assert bench.level
    bench.load_on = 1
    bench.tick()
    assert not bench.level
    assert bench.said("bad battery")
    assert not bench.said("relay open")


def test_a_warning_that_was_said_is_waited_for_by_none() -> None:
    bench = pumping()
    bench.keeper.guard.said[RULE_NAMES.index("relay open")] = 1
    bench.raw["battery"] = 0
    bench.load_on = 0
    bench.until(lambda: not bench.level, 5)
    assert bench.said("bad battery")
