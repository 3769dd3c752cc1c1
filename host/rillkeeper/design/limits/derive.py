"""The board's settings, derived from the site: each with the sentence that says why.

The plant's own models give the operating point with a full and with a used battery, and every
limit stands between what is normal there and what would do harm. Where there is no room for a
safe limit the site is refused, saying why.
"""

from collections.abc import Callable
from math import isfinite

from keeper.settings import problems
from rillkeeper.design.limits import channels_and_sets, power, water
from rillkeeper.design.limits.limit import Limit, shown_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.display_units import duration_text
from rillkeeper.errors import NoSafeLimit
from rillsim.site import Site


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
    found = problems({limit.key: limit.value for limit in limits})
    if found:
        raise NoSafeLimit(f"{site.name}: no safe limits: " + "; ".join(found))
    return limits


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
            f"{shown_of(work).text(site.water.lift_m, 'length')} and "
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
