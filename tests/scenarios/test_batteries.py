"""Batteries carried home and under a panel; the whole sweep is in the campaign."""

import pytest

from tests.campaign.battery_sweep import PART_CHARGED, TWO_PERCENT, Carried, Panelled

pytestmark = pytest.mark.slow


def test_a_part_charged_battery_read_two_percent_low_never_costs_a_night() -> None:
    assert not Carried("flooded", PART_CHARGED, -TWO_PERCENT, nights=6).lost()


@pytest.mark.parametrize("chemistry", ["agm", "lfp"])
def test_a_panel_that_holds_the_posts_stops_no_set(chemistry: str) -> None:
    """A set in the late sun: charge that nobody counts, posts at the limit, and no false stop."""
    assert not Panelled(chemistry, 100.0, 17, 190, nights=4).false_stops()


def test_a_lithium_battery_under_a_small_panel_waters_every_night() -> None:
    """Rested full it reads 13.4 V, not the charger's 14.4: the board must not wait for more."""
    run_s = Panelled("lfp", 30.0, 22, 190, nights=4).run_s()
    assert len(run_s) == 4
    assert min(run_s) > 49 * 60
