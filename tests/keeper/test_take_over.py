"""A keeper with other settings goes on where the one before it stood."""

from keeper import Keeper, Settings, hand
from keeper.clockwatch import GOOD

from .bench import SITE


def looked(settings: dict[str, int]) -> Keeper:
    """A keeper that has looked around for a second."""
    keeper = Keeper(Settings(settings))
    for tick in range(10):
        keeper.step(tick * 100, 20643, 43200, 1, 2500, 410, 0, 0, 900, 0)
    return keeper


def test_no_start_no_other_battery_no_longer_rest() -> None:
    before = looked(SITE)
    before.facts.off_ms = 1234
    after = Keeper(Settings({**SITE, "starts_max": 9}))
    assert (after.facts.off_ms, after.facts.clock_bad != GOOD) == (0, True)
    after.take_over(before)
    after.step(1000, 20643, 43201, 1, 2500, 410, 0, 0, 900, 0)
    assert after.facts.off_ms == 1234 + 1000  # A second since the look at tick 0.
    assert after.journal.waiting == 0


def test_no_time_is_lost_by_settings_that_come_between_two_looks() -> None:
    """A look every minute: settings half a minute after one, again and again, and time goes on."""
    keeper = Keeper(Settings(SITE))
    for half_minute in range(20):
        for second in (0, 29):
            passed_s = 30 * half_minute + second
            clock = (20643, 43200 + passed_s, 1)
            keeper.step(1000 * passed_s, *clock, 2500, 410, 0, 0, 900, 0)
        before, keeper = keeper, Keeper(Settings(SITE))
        keeper.take_over(before)
    assert keeper.facts.clock_bad == GOOD
    assert keeper.clock.off_s <= 1


def test_what_was_asked_for_just_before_is_done() -> None:
    before = looked(SITE)
    assert before.command(hand.HOLD, 2)
    after = Keeper(Settings(SITE))
    after.take_over(before)
    after.step(1000, 20643, 43201, 1, 2500, 410, 0, 0, 900, 0)
    assert after.facts.hold_until_night == 20643 + 2


def test_one_without_settings_has_nothing_to_hand_on() -> None:
    after = Keeper(Settings(SITE))
    after.take_over(Keeper(None))
    assert after.facts.off_ms == 0
    Keeper(None).take_over(after)
