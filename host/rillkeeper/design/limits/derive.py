"""The board's settings, derived from the site: each with the sentence that says why.

The plant's own models give the operating point with a full and with a used battery, and every
limit stands between what is normal there and what would do harm. Where there is no room for a
safe limit the site is refused, saying why. A range in the site file counts with its middle, and
the limits must hold at both its ends.
"""

from collections.abc import Callable
from dataclasses import replace
from math import isfinite

from rillkeeper import row_words
from rillkeeper.design.limits import channels_and_sets, power, water
from rillkeeper.design.limits.flow_meter import PULSES_MIN, flow_meter, pulses_hz
from rillkeeper.design.limits.working_site import Limit, WorkingSite
from rillkeeper.display_units import Shown, duration_text
from rillkeeper.errors import NoSafeLimit
from rillkeeper.site.change import conflicts, find_row, with_value
from rillsim.site import InputRange, Site

FALSE_TRIP_ROOM = 1.05
"""Normal pressure stays so far from a limit at the least (common practice, no source)."""


def settings_of(site: Site) -> dict[str, int]:
    """The board's settings for a site. Raises NoSafeLimit, with all the reasons."""
    return {limit.key: limit.value for limit in limits_of(site)}


def limits_of(site: Site) -> list[Limit]:
    """Every derived setting with its reason. Raises NoSafeLimit, with all the reasons."""
    work = WorkingSite(site)
    _check_water(work)
    parts: tuple[Callable[[], list[Limit]], ...] = (
        lambda: channels_and_sets.channels(work),
        lambda: water.pressures(work),
        lambda: water.prime_and_flow(work),
        lambda: flow_meter(work),
        # The supply is learned after priming.
        lambda: power.supply(work) if isfinite(work.prime_s()) else [],
        lambda: power.charge(work),
        lambda: channels_and_sets.times(work),
        lambda: channels_and_sets.sets(work),
    )
    limits: list[Limit] = []
    refusals: list[str] = []
    for part in parts:
        try:
            limits += part()
        except NoSafeLimit as refusal:
            refusals.append(str(refusal).removeprefix(f"{site.name}: "))
    if refusals:
        raise NoSafeLimit(f"{site.name}: " + _listed(refusals))
    settings = {limit.key: limit.value for limit in limits}
    found = row_words.problems(settings)
    if found:
        raise NoSafeLimit(f"{site.name}: no safe limits: " + "; ".join(found))
    if site.water.stored_m3 > 0.0:
        _check_lowest(site, settings)
    return limits


def _check_lowest(site: Site, settings: dict[str, int]) -> None:
    """The limits must hold down to the last of a source that can be emptied."""
    water = site.water
    lift_m = water.lift_m + water.cover_m
    endless = replace(
        water, lift_m=lift_m, stored_m3=0.0, full_m3=0.0, roof_m2=0.0, inflow_m3_s=0.0
    )
    reason = _refusal(replace(site, water=endless), settings)
    if reason:
        lift = Shown(site.units).text(lift_m, "length")
        raise NoSafeLimit(
            f"{site.name}: with the source almost empty, at a lift of {lift}, {reason}; or set "
            "the strainer higher, water.cover and water.stored with it"
        )


def _listed(refusals: list[str]) -> str:
    """One refusal as it is, several with their numbers, in one line.

    >>> _listed(["too weak", "too long"])
    '2 reasons: (1) too weak; (2) too long'
    """
    if len(refusals) == 1:
        return refusals[0]
    listed = "; ".join(f"({number}) {text}" for number, text in enumerate(refusals, start=1))
    return f"{len(refusals)} reasons: {listed}"


def _check_water(work: WorkingSite) -> None:
    """Without water, from the first night to the last, there is nothing to derive from."""
    site = work.site
    if work.middle.point.flow_m3_s <= 0.0:
        raise NoSafeLimit(
            f"{site.name}: the pump gives no water at a lift of "
            f"{work.shown.text(site.water.lift_m, 'length')} and "
            f"{work.middle.board_v:.1f} V; lower the pump, shorten the lines or the cable"
        )
    if not isfinite(work.night_s()):
        raise NoSafeLimit(
            f"{site.name}: no water comes down on the plot, so a set by depth never ends; turn "
            "the sprinkler towards the plot, or set it nearer"
        )
    used = work.used.point
    if min(used.flow_m3_s, used.speed_rad_s) <= 0.0:  # Water may run by itself from above.
        raise NoSafeLimit(
            f"{site.name}: the battery is empty before a night's {duration_text(work.night_s())} "
            "of pumping are over; take a larger one, or water less"
        )


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
    work = WorkingSite(site)
    shown = work.shown
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
    if site.board.flow_fitted:
        needs_s = PULSES_MIN / pulses_hz(work, work.used)
        if needs_s * 1e3 * FALSE_TRIP_ROOM > settings["no_flow_ms"]:
            return f"{PULSES_MIN} pulses of the flow meter take {needs_s:.0f} s, near the limit"
    return ""


def _shown(one: InputRange, value: float, site: Site) -> str:
    _, row = find_row(one.key)
    return row.show(value, site.units, 3)
