"""The peak of a start and the limit on a shut line: by the file, a stiffer hose, two relays."""

from dataclasses import replace

import pytest

from rillkeeper.design.limits.water import dead_head
from rillkeeper.design.limits.working_site import WorkingSite
from tests.campaign.owned import file_of, truth_of


def test_a_start_with_a_hose_much_stiffer_than_its_file_is_no_shut_line() -> None:
    """The campaign's sound/11/890131: 60 % stiffer and 6 % narrower; stopped at the start of two
    nights while the limit stood a quarter above the file's own peak alone."""
    site = file_of(11)
    peak_pa = WorkingSite(truth_of(site, 890131)).start_peak_pa()
    shut = dead_head(WorkingSite(site))
    assert peak_pa > 1.25 * WorkingSite(site).start_peak_pa()
    assert peak_pa * 1.03 < shut.limit_pa < 0.6 * site.pump.max_pressure_pa


def test_a_second_relay_takes_nothing_from_the_peak_of_a_start() -> None:
    """The campaign's 95000005: with both relays to close the trial of a start closed one, so that
    a start seemed to make no pressure, and the limit stood below the true one."""
    site = file_of(11)
    two = replace(site, board=replace(site.board, second_relay_fitted=True))
    one_pa, two_pa = (WorkingSite(each).start_peak_pa() for each in (site, two))
    assert two_pa == pytest.approx(one_pa, rel=0.02)
    assert dead_head(WorkingSite(two)).limit_pa > 1.15 * two_pa
