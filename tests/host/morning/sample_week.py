"""The demonstration week, replayed once for all tests that look at its report."""

from functools import cache

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.site.file import demo_site
from rillsim.replay import Week, replay


@cache
def demo_week() -> Week:
    """Seven nights of the demonstration site."""
    site = demo_site()
    return replay(site, settings_of(site), nights=7, seed=1)


def demo_report() -> Report:
    """Its report, with all that a replay knows."""
    week = demo_week()
    return report_of(
        week.log,
        week.site,
        week.truth,
        week.trace,
        week.faults,
        soil=week.soil,
        settings=week.settings,
        start_day=week.start_day,
    )
