"""The table of protections as data: complete, consistent, and as it is meant to be."""

import pytest

from keeper import rules
from keeper.cycle import STATES
from keeper.guard import Guard
from keeper.quantities import QUANTITIES
from keeper.rules import ACTIONS, RULES
from keeper.settings import SCHEMA

from .bench import SITE, part
from .cases import CASES
from .table import ROWS, TABLE, Row

SIDES = {"above": rules.ABOVE, "below": rules.BELOW}
KEYS = {row[0] for row in SCHEMA}


def in_numbers(row: Row) -> tuple:
    return (
        *(row.name, row.quantity, SIDES[row.side], row.limit, row.hold, row.states),
        *(row.after_ms, ACTIONS.index(row.action), row.tries, ACTIONS.index(row.then)),
        *(row.cleared, row.needs, row.way),
    )


def test_table_is_what_was_meant() -> None:
    assert list(RULES) == [in_numbers(row) for row in TABLE]


@pytest.mark.parametrize("number", range(len(TABLE)))
def test_a_rule_is_found_by_its_name(number: int) -> None:
    assert rules.number_of(TABLE[number].name) == number
    constant = TABLE[number].name.upper().replace(" ", "_").replace("-", "_")
    assert getattr(rules, constant, number) == number


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.name)
def test_row_speaks_of_things_that_exist(row: Row) -> None:
    assert row.quantity in QUANTITIES
    assert set(row.states.split()) <= set(STATES)
    assert {row.limit, row.hold, row.tries} <= KEYS | set(range(10_000))
    assert {sensor + "_fitted" for sensor in row.needs.replace("/", " ").split()} <= KEYS


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.name)
def test_clearing_fits_the_action(row: Row) -> None:
    """What ends the stop must be able to: a lockout wants a hand, a flat battery a charge."""
    allowed = {
        "lock": {"hand"},
        "flat": {"charge"},
        "night": {"noon", "charge"},
        "refuse": {"noon"},
        "warn": {"noon"},
        "by hand": {"itself"},
    }
    assert row.cleared in allowed[row.final]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.name)
def test_only_what_retries_has_tries(row: Row) -> None:
    assert (row.tries != 0) == (row.action == "retry")


def test_pump_is_watched_only_where_it_runs_or_is_about_to() -> None:
    """An action must be able to move every state that it is armed in."""
    from keeper.core import _EVENT_OF_ACTION
    from keeper.cycle import NEXT

    for row in TABLE:
        event = _EVENT_OF_ACTION[ACTIONS.index(row.action)]
        for state in row.states.split() if event >= 0 else ():
            if row.name in ("relay closed", "relay stuck") and state == "lockout":
                # A relay that stays closed in a lockout is told of; there is nowhere to go to.
                continue
            number = STATES.index(state)
            assert NEXT[event][number] != number, f"{row.name} cannot leave {state}"


def test_every_row_is_driven_in_every_state_it_watches() -> None:
    driven = {(case.rule, case.state) for case in CASES}
    assert driven == {(row.name, state) for row in TABLE for state in row.states.split()}


def test_failed_prime_and_dry_run_share_their_tries() -> None:
    assert {rules.NO_PRIME: rules.DRY_RUN} == rules.SHARED_TRIES
    assert ROWS["no prime"].tries == ROWS["dry run"].tries


SENSORS = ("battery", "pressure", "load_sense", "frost", "current", "second_relay", "flow")


# The relay's own rules go by the load side, or in its place by the battery.
@pytest.mark.parametrize("sensor", [sensor for sensor in SENSORS if sensor != "load_sense"])
def test_without_its_sensor_a_rule_is_listed_and_not_watched(sensor: str) -> None:
    values = {**SITE, **{name + "_fitted": 1 for name in SENSORS}, sensor + "_fitted": 0}
    guard = part(Guard, **values)
    blind = [row.name for row in TABLE if sensor in row.needs.split()]
    assert guard.unprotected == blind
    assert blind
    for state, watched in enumerate(guard.watched):
        expected = [
            number
            for number, row in enumerate(TABLE)
            if STATES[state] in row.states.split() and row.name not in blind
        ]
        assert list(watched) == expected


def test_with_every_sensor_nothing_is_unprotected() -> None:
    values = {**SITE, **{name + "_fitted": 1 for name in SENSORS}}
    assert part(Guard, **values).unprotected == []


def test_old_logs_keep_their_rules() -> None:
    """The log calls rules by number: those of 0.1.0 stay where they were, new ones follow."""
    first = (
        "high pressure, dead head, dry run, no prime, line open, slow choke, low charge, "
        "brown-out, over-voltage, weak supply, bad supply, stall by sag, stall, charge reserve, "
        "over-run, too many starts, duty, relay closed, relay open, relay chatter, late tick, "
        "swapped, bad battery, bad pressure, no sag, bad frost, bad current, no clock, frost"
    ).split(", ")
    assert [row[rules.NAME] for row in rules.RULES][: len(first)] == first
