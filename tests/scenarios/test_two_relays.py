"""Two relays in series: no single stuck contact, coil or pin runs a pump that is told to stand.

One by one, in the plant: each relay's contact welded, bridged, open, chattering, its module
inverted, its pin high for ever (or its transistor shorted, which feeds the coil just so).
"""

from collections.abc import Callable
from dataclasses import replace
from unittest.mock import patch

import pytest

import rillsim.plant
from keeper.lines import parse_line
from keeper.records import FIRST as VALUES
from keeper.records import KIND, START, TRIP
from keeper.relay import FIRST, SECOND
from keeper.second_relay import RELAY_STUCK
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import read_site
from rillsim.boards import contact
from rillsim.boards.contact import Contact
from rillsim.noise import SECOND_CONTACT
from rillsim.replay import TICKS_PER_S, replay
from rillsim.site import FaultSpec, Site
from rillsim.timeline import Timeline

from .scenario import SITE
from .stage import NOON_S, within_reach
from .test_no_false_trip import drawn, wrong

ONSETS = {"at rest": -3600.0, "in the run": 240.0}
"""Seconds from the first set's time."""
FEEDS, *CONTACTS = (-1, *range(contact.STUCK_OPEN, contact.INVERTED + 1))
"""FEEDS: the coil is fed whatever the board wants. The rest are modes of a contact."""
WORDS = {
    FEEDS: "pin high",
    contact.STUCK_OPEN: "open",
    contact.WELDED: "welded",
    contact.CHATTERING: "chatters",
    contact.BRIDGED: "bridged",
    contact.INVERTED: "inverted",
}
CLOSES = (FEEDS, contact.WELDED, contact.BRIDGED)
"""What keeps a relay closed; an inverted one is open when it should be closed."""
SECONDS_MAX = 1.1
"""The hold of a weld, and the tick that opens the other relay; else three ticks of a proof."""


class Spoilt(Contact):
    """A relay that fails at a tick."""

    def __init__(self, seed: int, stream: int, fault: int, from_n: int) -> None:
        super().__init__(seed, stream)
        self._fault = fault
        self._from_n = from_n

    def settle(self, n: int, coil_v: float) -> bool:
        if n >= self._from_n and self._fault == FEEDS:
            self.pin = 1
        elif n >= self._from_n:
            self.mode = self._fault
        return super().settle(n, coil_v)


def relays(number: int, fault: int, from_n: int) -> Callable[..., Contact]:
    """What makes the relays of a plant of which one fails."""

    def make(seed: int, stream: int = contact.CONTACT) -> Contact:
        is_second = stream == SECOND_CONTACT
        if is_second != (number == SECOND):
            return Contact(seed, stream)
        return Spoilt(seed, stream, fault, from_n)

    return make


def site_with(**board: bool) -> Site:
    site = read_site(SITE.read_text(encoding="utf-8"), SITE.name)
    return replace(site, board=replace(site.board, **board))


def night(
    site: Site, number: int, fault: int, onset_s: float, nights: int = 2
) -> tuple[float, bool, list[str]]:
    """For how long the pump worked untold, whether it does in the end, the log."""
    # A moment at which the plant looks at its relays: a contact that is burnt by nothing.
    site = replace(site, faults=(FaultSpec("relay_worn", 1, onset_s, severity=1e-9),))
    from_n = Timeline(site, NOON_S).night_n(1) + round(TICKS_PER_S * onset_s)
    untold_n = 0
    last = (0, False)

    def tap(n: int, _clock: object, _counts: object, level: int) -> None:
        nonlocal untold_n, last
        since_n, worked = last
        untold_n += n - since_n if worked else 0
        plant = plants[0]
        last = n, plant.rig.circuit.closed and level != plant.whole

    with (
        within_reach() as plants,
        patch.object(rillsim.plant, "Contact", relays(number, fault, from_n)),
    ):
        week = replay(site, settings_of(site), nights=nights, tap=tap)
    return untold_n / TICKS_PER_S, last[1], list(week.log)


def stuck_told(log: list[str]) -> list[int]:
    """Which relay was told to be stuck, each time."""
    rows = [parse_line(line) for line in log]
    found = [row for row in rows if row[KIND] == TRIP and row[VALUES] == RELAY_STUCK]
    return [row[VALUES + 1] for row in found]


BLIND = {"load sense": {}, "no load sense": {"load_sense_fitted": False}}


@pytest.mark.parametrize("onset", ONSETS)
@pytest.mark.parametrize("fault", [FEEDS, *CONTACTS], ids=WORDS.get)
@pytest.mark.parametrize("number", [FIRST, SECOND], ids=["first", "second"])
@pytest.mark.parametrize("sensed", BLIND)
def test_no_single_fault_runs_the_pump(sensed: str, number: int, fault: int, onset: str) -> None:
    site = site_with(second_relay_fitted=True, **BLIND[sensed])
    # A contact that chatters has the plant look at each tick, and has no night after this one.
    nights = 1 if fault == contact.CHATTERING else 2
    untold_s, works, log = night(site, number, fault, ONSETS[onset], nights)
    assert untold_s <= SECONDS_MAX
    assert not works
    found = stuck_told(log)
    if fault in CLOSES:
        assert found == [number], "and it is said which, once"
    else:
        assert found in ([], [number])


@pytest.mark.parametrize("fault", CLOSES, ids=WORDS.get)
def test_with_one_relay_they_do(fault: int) -> None:
    """What the second is for: until somebody comes, here until the end of the replay."""
    untold_s, works, _ = night(site_with(), FIRST, fault, ONSETS["in the run"], nights=1)
    assert works
    assert untold_s > 3600.0


@pytest.mark.parametrize("board", [{}, {"load_sense_fitted": False}, {"battery_fitted": False}])
def test_a_sound_week_finds_nothing(board: dict[str, bool]) -> None:
    """On a drawn site, with all that reads the pump, by the battery alone, or without it."""
    seed, site = drawn(0)
    fitted = {"pressure_fitted": True, "second_relay_fitted": True, **board}
    found = wrong(seed, replace(site, board=replace(site.board, **fitted)))
    assert not found, f"seed {seed}:\n" + "\n".join(found)


def test_a_start_is_proved_each_night() -> None:
    untold_s, works, log = night(site_with(second_relay_fitted=True), FIRST, contact.GOOD, 0.0)
    assert (untold_s, works) == (0.0, False)
    assert sum(parse_line(line)[KIND] == START for line in log) == 2
