"""The limit on a shut line, where the hose is not as its file says."""

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
