"""A keeper with other settings goes on where the one before it stood."""

from keeper import Keeper, Settings
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
    assert after.facts.off_ms == 1234
    assert after.journal.waiting == 0


def test_one_without_settings_has_nothing_to_hand_on() -> None:
    after = Keeper(Settings(SITE))
    after.take_over(Keeper(None))
    assert after.facts.off_ms == 0
    Keeper(None).take_over(after)
