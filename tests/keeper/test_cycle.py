"""The table of states: every pair is listed, and the pump runs where it should."""

import itertools

import pytest

from keeper import cycle
from keeper.cycle import EVENTS, NEXT, STATES, TABLE

from .bench import Bench

PUMPING = {"prime", "run"}
PAIRS = [
    (event, STATES[state], cells[state])
    for event, cells in TABLE
    for state in range(len(STATES))
    if cells[state] != "."
]


def test_every_pair_is_listed() -> None:
    for event, cells in TABLE:
        assert len(cells) == len(STATES), event
        assert set(cells) <= {".", *STATES}, event


def test_numbers_say_what_the_words_say() -> None:
    for number, (event, cells) in enumerate(TABLE):
        constant = event.upper().replace(",", "").replace(" ", "_")
        assert getattr(cycle, constant) == number
        for state, cell in enumerate(cells):
            assert STATES[NEXT[number][state]] == (STATES[state] if cell == "." else cell)
    for number, state in enumerate(STATES):
        assert getattr(cycle, state.upper()) == number
    assert len(EVENTS) == len(set(EVENTS)) == len(NEXT)


def test_no_cell_leads_to_where_it_is() -> None:
    assert all(before != after for _, before, after in PAIRS)


def test_every_state_can_be_reached_and_left() -> None:
    reached = {"idle"}
    while more := {after for _, before, after in PAIRS if before in reached} - reached:
        reached |= more
    assert reached == set(STATES) - {"unset"}
    assert {before for _, before, _ in PAIRS} == reached


def test_every_state_leads_home() -> None:
    for start in set(STATES) - {"unset"}:
        reached = {start}
        while more := {after for _, before, after in PAIRS if before in reached} - reached:
            reached |= more
        assert "idle" in reached


def test_unset_is_never_left() -> None:
    assert all(cells[0] == "." for _, cells in TABLE)


def test_pump_starts_only_after_a_check() -> None:
    entries = {(event, before) for event, before, after in PAIRS if after in PUMPING}
    assert entries == {("checks passed", "check"), ("primed", "prime")}


def test_lockout_is_left_only_by_a_person() -> None:
    assert [event for event, before, _ in PAIRS if before == "lockout"] == ["cleared"]


def test_flat_is_left_only_by_charge_or_a_person_or_for_a_lockout() -> None:
    events = {event for event, before, _ in PAIRS if before == "flat"}
    assert events == {"charged", "cleared", "trip, lockout"}


def test_every_trip_stops_the_pump() -> None:
    for event, state in itertools.product(EVENTS, PUMPING):
        if event.startswith("trip") or event in ("stopped", "set ended", "run ended"):
            assert STATES[NEXT[EVENTS.index(event)][STATES.index(state)]] not in PUMPING


@pytest.mark.parametrize("state", STATES[1:])
def test_relay_is_closed_in_prime_and_run_alone(state: str) -> None:
    bench = Bench()
    bench.go(state)
    assert bench.level == (state in PUMPING)
    assert bench.keeper.lamp == STATES.index(state)


ANY_BUT_LOCKED = "idle check prime run soak rest done flat"
LEADS = {
    "set due": ("check", "idle"),
    "start by hand": ("check", "idle done"),
    "checks passed": ("prime", "check"),
    "checks refused": ("done", "check"),
    "primed": ("run", "prime"),
    "run ended": ("soak", "prime run"),
    "set ended": ("idle", "check prime run soak rest"),
    "stopped": ("done", "check prime run soak rest"),
    "trip, retry": ("rest", "check prime run"),
    "trip, night": ("done", "idle check prime run soak rest"),
    "trip, flat": ("flat", "idle check prime run soak rest done"),
    "trip, lockout": ("lockout", ANY_BUT_LOCKED),
    "soaked": ("check", "soak"),
    "rested": ("check", "rest"),
    "noon": ("idle", "soak rest done"),
    "charged": ("idle", "flat"),
    "cleared": ("idle", "done flat lockout"),
}
"""The table written down a second time, by what happens: where it leads, and from where."""


@pytest.mark.parametrize("event", EVENTS)
def test_an_event_leads_where_it_is_meant_to_and_from_nowhere_else(event: str) -> None:
    to, states = LEADS[event]
    pairs = [(before, after) for name, before, after in PAIRS if name == event]
    assert pairs == [(state, to) for state in states.split()]
