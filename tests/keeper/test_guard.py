"""The quick look of the guard sees what its table says, whatever else it leaves out."""

from typing import Any

import pytest

from keeper import Settings, guard
from keeper.cycle import STATES
from keeper.facts import GAP_MS_MAX, Facts
from keeper.guard import Guard
from keeper.quantities import FROST_DC, QUANTITIES
from keeper.rules import ABOVE, NAME, QUANTITY, RULES, SIDE, WATCHED_IN

from .bench import SITE, TICK_MS, Bench

LONG_MS = 600000
WATCHED = [
    (state, rule)
    for state in range(len(STATES))
    for rule, row in enumerate(RULES)
    if STATES[state] in row[WATCHED_IN].split()
]


def calm_guard() -> tuple[Guard, list[int]]:
    """A guard of every sensor, and quantities that are past no limit: each at its first one."""
    sensors = {name: 1 for name in SITE if name.endswith("_fitted")}
    settings = Settings(
        {**SITE, **sensors, "current_fitted": 1, "second_relay_fitted": 1, "flow_fitted": 1}
    )
    made = Guard(settings, Facts(settings))
    limits: dict[str, dict[int, list[int]]] = {}
    for rule, row in enumerate(RULES):
        limits.setdefault(row[QUANTITY], {}).setdefault(row[SIDE], []).append(made.limits[rule])
    first = {
        name: min(sides[ABOVE]) if ABOVE in sides else max(sides[-ABOVE])
        for name, sides in limits.items()
    }
    return made, [first.get(name, 0) for name in QUANTITIES]


def asked(made: Guard, state: int, dt_ms: int, quantities: list[int]) -> int:
    """As a tick asks it: while the pump runs, the walk is for what is not calm."""
    if STATES[state] in ("prime", "run") and made.is_calm(state, quantities):
        return -1
    return made.look(state, LONG_MS, dt_ms, quantities)


@pytest.mark.parametrize("state", [STATES.index("prime"), STATES.index("run")])
def test_every_quantity_at_its_limit_is_calm(state: int) -> None:
    made, quantities = calm_guard()
    assert not made.is_calm(state, quantities), "nothing was walked through yet"
    made.look(state, LONG_MS, TICK_MS, quantities)
    assert made.is_calm(state, quantities)


@pytest.mark.parametrize(("state", "rule"), WATCHED)
def test_after_calm_a_rule_sees_the_first_step_past_its_limit(state: int, rule: int) -> None:
    made, quantities = calm_guard()
    for _ in range(2):
        assert asked(made, state, TICK_MS, quantities) == -1
    assert not made.holding(state)
    quantities[QUANTITIES.index(RULES[rule][QUANTITY])] = made.limits[rule]
    asked(made, state, TICK_MS, quantities)
    assert made.held_ms[rule] < 0, "at the limit is not past it"
    for _ in range(2):
        asked(made, state, TICK_MS, calm_guard()[1])
    quantities[QUANTITIES.index(RULES[rule][QUANTITY])] += RULES[rule][SIDE]
    asked(made, state, TICK_MS, quantities)
    assert made.held_ms[rule] >= 0


def test_a_quantity_is_calm_again_once_it_is_back() -> None:
    made, quantities = calm_guard()
    run = STATES.index("run")
    over = QUANTITIES.index("on_s")
    quantities[over] += 1
    assert asked(made, run, TICK_MS, quantities) >= 0
    quantities[over] -= 1
    assert asked(made, run, TICK_MS, quantities) == -1
    assert not made.holding(run)


def test_a_hold_of_days_stays_a_small_number() -> None:
    """A rule that was said may hold on for months: the count stops short of 31 bits."""
    made, quantities = calm_guard()
    run = STATES.index("run")
    quantities[QUANTITIES.index("on_s")] += 1
    rule = asked(made, run, TICK_MS, quantities)
    made.said[rule] = 1
    for _ in range(10):
        assert asked(made, run, GAP_MS_MAX, quantities) == -1
    assert made.held_ms[rule] == guard._HELD_MS_MAX


def felt_in_run(frost_dc: int) -> int:
    """What the board holds for the temperature after a change while the pump runs."""
    bench = Bench()
    bench.go("run")
    bench.frost_dc = frost_dc
    bench.ticks(5 * TICK_MS)
    return int(bench.keeper.q[FROST_DC])


def test_frost_is_read_while_the_pump_runs_where_a_rule_wants_it(monkeypatch: Any) -> None:
    assert felt_in_run(90) == 150
    row = list(next(row for row in RULES if row[NAME] == "frost"))
    row[WATCHED_IN] = "check run"
    changed = tuple(tuple(row) if one[NAME] == "frost" else one for one in RULES)
    monkeypatch.setattr(guard, "RULES", changed)
    assert felt_in_run(90) == 90
