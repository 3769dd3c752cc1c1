"""Whether limits that were derived for the middle of each range hold at its ends too."""

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.display_units import Shown
from rillkeeper.errors import NoSafeLimit
from rillkeeper.site.change import conflicts, find_row, with_value
from rillsim.site import InputRange, Site

FALSE_TRIP_ROOM = 1.05
"""Normal pressure stays so far from a limit at the least (common practice, no source)."""


def middle_note(site: Site) -> str:
    """What the owner of a site with ranges has to know about its limits; empty without any."""
    if not site.ranges:
        return ""
    told = ", ".join(
        f"{one.key} {_shown(one, one.low, site)} to {_shown(one, one.high, site)}"
        for one in site.ranges
    )
    return (
        f"These limits are for the middle of each range ({told}) and hold at both its ends. "
        "Measure, write what you find into the site file, and derive them again before the "
        "first night."
    )


def check_ends(site: Site, settings: dict[str, int]) -> None:
    """Raises NoSafeLimit, with every reason, where an end of a range asks for other limits."""
    refusals = []
    for one in site.ranges:
        for end in (one.low, one.high):
            reason = _refusal(with_value(site, one.key, end), settings)
            if reason:
                refusals.append(f"with {one.key} at {_shown(one, end, site)} {reason}")
    if refusals:
        raise NoSafeLimit(f"{site.name}: " + "; and ".join(refusals) + "; narrow the range")


def _refusal(site: Site, settings: dict[str, int]) -> str:
    """Why the settings do not suit a site; empty where they do."""
    wrong = conflicts(site)
    if wrong:
        return f"{wrong[0].path}: {wrong[0].problem}"
    try:
        settings_of(site)
    except NoSafeLimit as refusal:
        return str(refusal).removeprefix(f"{site.name}: ")
    work, shown = WorkingSite(site), Shown(site.units)
    highest_pa = max(work.full.point.pump_pa, work.start_peak_pa())
    lowest_pa = work.used.point.pump_pa
    if highest_pa * FALSE_TRIP_ROOM > settings["dead_head_pa"]:
        limit = shown.text(settings["dead_head_pa"], "pressure")
        return (
            f"the pump makes up to {shown.text(highest_pa, 'pressure')}, too near the dead-head "
            f"limit of {limit}"
        )
    if lowest_pa < settings["dry_pa"] * FALSE_TRIP_ROOM:
        limit = shown.text(settings["dry_pa"], "pressure")
        return (
            f"the pump makes only {shown.text(lowest_pa, 'pressure')}, too near the dry-run "
            f"limit of {limit}"
        )
    if work.prime_s() * 1e3 > settings["prime_ms"]:
        return f"a dry line takes {work.prime_s():.0f} s to prime, longer than the limit"
    return ""


def _shown(one: InputRange, value: float, site: Site) -> str:
    _, row = find_row(one.key)
    return row.show(value, site.units, 3)
