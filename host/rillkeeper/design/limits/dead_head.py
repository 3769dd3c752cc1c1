"""Dead head: the limit and the hold that stop a pump against a shut line before its rating.

A sound start must stay below the limit, and a shut line must be answered above it: between the
two the pressure climbs as fast as the pump fills the hose, and the board needs its time.
"""

from dataclasses import dataclass

from rillkeeper.design.limits.limit import ROOM, shown_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.errors import NoSafeLimit

MORE_ROOM = 0.1
"""The limit stands so much farther above the normal pressure than it must, where it can (common
practice, no source)."""
START_ROOM = 1.15
"""The same above the peak of a start; half of it is the least."""
NEAR_RATING = 0.95
HOLD_SHARE = 0.4
"""Share of the way from dead head to the rating that may pass in the hold."""
TICK_MS = 100
HOLD_MS_MAX = 2000
ANSWER_S = 0.2
"""From the limit to an open relay, without a hold: the tick that sees it and the delay of the
median, which lets no single reading trip."""
READING_ROOM = 1.02
"""A transducer of 0.5 %, read off a board of 1 %, in the ripple of the pump."""


@dataclass(frozen=True)
class DeadHead:
    """The limit on a shut line, and what it comes from."""

    limit_pa: float
    hold_ms: int
    start_peak_pa: float
    climb_pa_s: float


def dead_head(work: WorkingSite) -> DeadHead:
    """Raises NoSafeLimit where no limit fits below the rating."""
    shown = shown_of(work)
    rating_pa = work.site.pump.max_pressure_pa
    highest_pa = work.full.point.pump_pa
    peak_pa = work.start_peak_pa()
    wanted_pa = max(highest_pa * (ROOM + MORE_ROOM), peak_pa * START_ROOM)
    limit_pa = min(wanted_pa, NEAR_RATING * rating_pa)
    if limit_pa < highest_pa * ROOM:
        raise NoSafeLimit(
            f"{work.site.name}: the normal pressure of {shown.text(highest_pa, 'pressure')} is "
            f"too near the pump's rating of {shown.text(rating_pa, 'pressure')}: a dead-head "
            "limit does not fit in between; use a larger nozzle, a wider hose or a pump with a "
            "higher rating"
        )
    lowest_pa = max(highest_pa * ROOM, peak_pa * (START_ROOM + 1.0) / 2.0)
    if not work.site.pump.pressure_switch:
        limit_pa = min(limit_pa, _answered_pa(work, lowest_pa, rating_pa))
    climb = work.climb_pa_s(limit_pa)
    room_s = (rating_pa - limit_pa * READING_ROOM) / climb - ANSWER_S
    hold_ms = 1e3 * min(HOLD_SHARE * (rating_pa - limit_pa) / climb, room_s)
    hold_ms = min(max(TICK_MS * int(hold_ms / TICK_MS), 0), HOLD_MS_MAX)
    return DeadHead(limit_pa, int(hold_ms), peak_pa, climb)


def _answered_pa(work: WorkingSite, lowest_pa: float, rating_pa: float) -> float:
    """The highest limit after which the relay still opens below the rating."""
    shown = shown_of(work)
    climb = work.climb_pa_s(lowest_pa)
    answered_pa = (rating_pa - climb * ANSWER_S) / READING_ROOM
    if answered_pa < lowest_pa:
        raise NoSafeLimit(
            f"{work.site.name}: a shut line climbs {shown.text(climb, 'pressure')} a second, from "
            f"{shown.text(lowest_pa, 'pressure')} past the pump's rating of "
            f"{shown.text(rating_pa, 'pressure')} "
            "before the relay is open; use a larger nozzle, a longer or softer hose, or a pump "
            "with a pressure switch of its own"
        )
    return answered_pa
