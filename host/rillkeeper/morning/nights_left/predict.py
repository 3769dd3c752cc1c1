"""Nights left with a band, from the nights of a log and, where it is known, from the site.

Two things end the use of a charge: the board's count comes down to the reserve, or the voltage
comes down to the cut-out. The first follows from the log alone. For the second the batteries
that may be on the clamps are looked at (`candidates`), each is used on as the nights were
(`ahead`), and a careful middle of what they come to is the prediction.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median, pstdev

from keeper import rules
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.working_site import depth_of
from rillkeeper.errors import NoSafeLimit
from rillkeeper.morning.nights_left.ahead import (
    Keeping,
    Seen,
    Usual,
    nights_ahead,
    nights_by_count,
)
from rillkeeper.morning.nights_left.candidates import Candidate, candidates, live_through, weights
from rillkeeper.morning.nights_left.tonight import ALL, planned_night, to_come
from rillkeeper.runlog.batteries import CHARGED_JUMP_MAH, batteries_put_on
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.runs import Minute, Run
from rillsim.site import Site

BAND = 0.8
"""What comes lies in the band eight times of ten."""
CAREFUL = 0.3
"""After a whole night so much of what may come lies below what is said: a night that fails costs
more than twice as much as a battery that is carried home a night early (common practice, no
source). The middle itself was too many by half a night on one morning of ten of another's battery
(tests/bench/other_battery.py). Before a whole night the plan is told as it is, in a wide band."""
CAREFUL_FIRST = 0.15
"""The same until a second whole night of this charge: a curve bends down towards its end, and one
night does not show how much. With as little as later, 17 to 25 % of such mornings were too many by
half a night (the same bench)."""
COUNT_SPREAD = 0.15
"""Of the count alone, where nothing tells of the battery (common practice, no source)."""
PLAN_SPREAD = 0.25
"""Of what a set takes by its plan alone (common practice, no source)."""
PART_SPREAD = 0.1
PART_MINUTES = 5
"""So many minutes of pumping tell what the rest of the set will take (common practice, no
source)."""
USE_SPREAD = 0.03
"""At least so much one night's use differs from the next (common practice, no source)."""
MORNINGS_MAX = 30
"""So many mornings are enough to see whether the predictions hold."""
_NOON_TO_START_S = 36000.0
_STOP_TO_NOON_S = 43200.0
_BOARD_UA = 4000
"""What a board takes, where its settings are not known."""
_DAY_H = 24.0
_FAR = 1.58
CROSS = ((0.0, 0.0), (-_FAR, 0.0), (_FAR, 0.0), (0.0, -_FAR), (0.0, _FAR))
"""Five points of equal weight with the deviations of two normal distributions: of a night's use,
and of how steeply the voltage falls."""
_QUANTILE = 1.2816
"""Of a normal distribution, for a band of 80 %."""


@dataclass(frozen=True)
class NightsLeft:
    """A prediction: nights of watering that the charge still gives."""

    middle: float | None
    """What is told: within the band, after a whole night on its careful side; None where it is
    not known."""
    low: float | None
    high: float | None
    by: str
    """What it was made from: "count", "count and voltage", "trip", or nothing."""
    note: str = ""
    """Why it is not known, or what to bear in mind."""

    @property
    def text(self) -> str:
        """For a sentence: "enough for 3.2 nights (80 % range 2.8 to 3.6)"."""
        if self.middle is None or self.low is None or self.high is None:
            return "how many nights is not known"
        text = f"enough for {self.middle:.1f} nights"
        low, high = f"{self.low:.1f}", f"{self.high:.1f}"
        return text if low == high else f"{text} (80 % range {low} to {high})"


UNKNOWN = NightsLeft(None, None, None, "", "What the battery still holds is not in this log.")
FLAT = NightsLeft(0.0, 0.0, 0.0, "trip", "The board has stopped for a flat battery.")
NO_WHOLE_NIGHT = NightsLeft(
    None, None, None, "", "No night of this log was whole, so what one takes is not known."
)
BY_PLAN = "No whole night yet: this is the board's count, divided by what the sets should take."
BY_PART = (
    "No whole night yet: this is the board's count, divided by what a night takes, going by the "
    "part that was pumped."
)


def nights_left(
    nights: Sequence[Night],
    site: Site | None = None,
    settings: dict[str, int] | None = None,
) -> NightsLeft:
    """What is left after the last of these nights.

    Parameters
    ----------
    nights : sequence of Night
        As the report has them
    site : Site, optional
        What its owner thinks the battery is; without it the count alone tells
    settings : dict, optional
        The board's; as derived from the site where they are not given
    """
    known = [night for night in nights if night.left_mah is not None]
    if not known:
        return UNKNOWN
    last = known[-1]
    if _flat(nights):
        return FLAT
    limits = settings or settings_by(site)
    keeping = Keeping.of(limits) if limits else None
    due = to_come(nights, limits) if last is nights[-1] else 0.0
    over = nights[:-1] if due else nights
    usual, spread, note = _usual(over, limits) or _expected(nights, limits)
    if usual is None:
        return _by_plan(last)
    left_ah = (last.left_mah or 0) / 1000.0
    if 0.0 < due < ALL:
        left_ah = max(0.0, left_ah - due * usual.used_ah)
        note = f"{note} What the rest of tonight takes is already taken off.".lstrip()
    if keeping is None or site is None or not _modelled(site):
        return _by_count(last, left_ah, usual, keeping, spread, note)
    runs = _this_charge([run for night in nights for run in night.runs], last)
    return _by_battery(
        site,
        runs,
        left_ah,
        usual,
        keeping,
        spread,
        note,
        _noon_mv(last),
        _reads_low_v(nights, keeping),
        _share_below(nights, runs),
    )


def each_morning(
    nights: Sequence[Night],
    site: Site | None = None,
    settings: dict[str, int] | None = None,
) -> list[tuple[int, NightsLeft]]:
    """What would have been said after each of these nights: its day number, and the prediction.

    It takes some hundredths of a second a night; of a long log only the last are predicted.
    """
    limits = settings or settings_by(site)
    first = max(0, len(nights) - MORNINGS_MAX)
    return [(night.day, UNKNOWN) for night in nights[:first]] + [
        (
            nights[place].day,
            nights_left(nights[: place + 1], site, limits),
        )
        for place in range(first, len(nights))
    ]


def _flat(nights: Sequence[Night]) -> bool:
    """Whether the board has stopped until the battery is charged, and it has not been."""
    flat = False
    entries = [entry for night in nights for entry in night.entries]
    put_on = {id(entry) for entry in batteries_put_on(entries)}
    for entry in entries:
        if entry.kind == "trip":
            flat = flat or entry["action"] == rules.FLAT
        elif entry.kind == "primed" or id(entry) in put_on:
            flat = False
    return flat


def _modelled(site: Site) -> bool:
    """Whether the batteries can be followed: a panel puts in what no record tells."""
    return site.board.battery_fitted and site.solar.power_w <= 0.0


def _by_count(
    last: Night, left_ah: float, usual: Usual, keeping: Keeping | None, spread: float, note: str
) -> NightsLeft:
    """From the board's count alone."""
    if keeping is None and last.nights_tenths is not None:
        middle = last.nights_tenths / 10.0
    else:
        reserve_ah = keeping.reserve_ah if keeping else 0.0
        middle = nights_by_count(left_ah - reserve_ah, usual)
    return _counted(middle, (spread**2 + COUNT_SPREAD**2) ** 0.5, note)


def _by_plan(last: Night) -> NightsLeft:
    """Before there was a whole night: what the board reckons from what its sets are to take."""
    if last.nights_tenths is None:
        return NO_WHOLE_NIGHT
    return _counted(last.nights_tenths / 10.0, PLAN_SPREAD, BY_PLAN)


def _counted(middle: float, spread: float, note: str = "") -> NightsLeft:
    wide = _QUANTILE * spread * middle
    return NightsLeft(middle, max(0.0, middle - wide), middle + wide, "count", note)


def _by_battery(
    site: Site,
    runs: Sequence[Run],
    left_ah: float,
    usual: Usual,
    keeping: Keeping,
    spread: float,
    note: str,
    noon_mv: int,
    low_v: float,
    share: float,
) -> NightsLeft:
    """From the count and from the batteries that may be on the clamps."""
    begun_ah = runs[0].left_mah / 1000.0 if runs else left_ah
    gone = depth_of(site.battery) * (1.0 - begun_ah / keeping.capacity_ah)
    charged = begun_ah > 0.97 * keeping.capacity_ah
    found = candidates(site.battery, 1.0 - max(0.0, gone), charged)
    for one in found:
        _live(one, runs, usual)
        if runs and noon_mv:
            one.battery.step(usual.idle_a, _STOP_TO_NOON_S)
            one.see(noon_mv / 1000.0, one.battery.emf_v)
    nights: list[tuple[float, float]] = []
    for one, weight in zip(found, weights(found), strict=True):
        if weight < 1e-4:
            continue
        for less, steeper in CROSS:
            night = Usual(
                usual.run_s * (1.0 + less * spread),
                usual.current_a,
                usual.idle_a,
                usual.used_ah * (1.0 + less * spread),
            )
            steep = one.steep(steeper)
            channel_v = one.channel_v(steep)
            seen = Seen(one.full_v, steep, channel_v, one.wires_ohm, low_v, not runs)
            ahead = nights_ahead(one.battery, left_ah, _NOON_TO_START_S, night, keeping, seen)
            nights.append((ahead, weight))
    if not runs:
        note = f"{note} This battery has not worked yet: the first night will tell more.".lstrip()
    low, middle, high = (_quantile(nights, q) for q in (0.5 - BAND / 2, share, 0.5 + BAND / 2))
    return NightsLeft(middle, low, high, "count and voltage", note)


def _share_below(nights: Sequence[Night], runs: Sequence[Run]) -> float:
    """How much of what may come is to lie below what is told, by the whole nights so far."""
    whole = [night for night in nights if night.whole and night.runs]
    if not whole:
        return 0.5
    shown = [night for night in whole if runs and night.runs[0].place >= runs[0].place]
    return CAREFUL if len(shown) > 1 else CAREFUL_FIRST


def _noon_mv(last: Night) -> int:
    """The rest voltage with which the night was closed; 0 where it was not."""
    return last.closing["rest_mv"] if last.closing else 0


def _reads_low_v(nights: Sequence[Night], keeping: Keeping) -> float:
    """By how much the board by now takes its channel to read low, from every rest of the log."""
    low_v, new = keeping.error_v, True
    closed = [night.closing for night in nights[-1:] if night.closing]
    for entry in [*(entry for night in nights for entry in night.entries), *closed]:
        if {"rest_mv", "left_mah"} <= entry.numbers.keys():
            new = new or entry.kind == "battery"
            low_v = keeping.reads_low_v(
                low_v, entry["left_mah"] / 1000.0, entry["rest_mv"] / 1000.0, new
            )
        new = new and entry.kind != "primed"
    return low_v


def _live(one: Candidate, runs: Sequence[Run], usual: Usual) -> None:
    for place, run in enumerate(runs):
        rest_s = run.pause_s if place and run.pause_s is not None else _NOON_TO_START_S
        live_through(one, run, rest_s, usual.idle_a)


def _quantile(values: list[tuple[float, float]], share: float) -> float:
    """The value below which this share of the weight lies."""
    ordered = sorted(values)
    total = sum(weight for _, weight in ordered)
    gone = 0.0
    for value, weight in ordered:
        gone += weight
        if gone >= share * total:
            return value
    return ordered[-1][0]


def settings_by(site: Site | None) -> dict[str, int]:
    """The board's settings as the site gives them; none where it gives none."""
    if site is None:
        return {}
    try:
        return settings_of(site)
    except NoSafeLimit:
        return {}


def _this_charge(runs: Sequence[Run], last: Night) -> list[Run]:
    """Runs since the count last went up: those on the charge that is in the battery now."""
    found: list[Run] = []
    for run in runs:
        if found and run.left_mah > found[-1].left_mah + CHARGED_JUMP_MAH:
            found = []
        found.append(run)
    if found and last.left_mah and last.left_mah > found[-1].left_mah + CHARGED_JUMP_MAH:
        return []
    return found


def _usual(nights: Sequence[Night], settings: dict[str, int]) -> tuple[Usual, float, str] | None:
    """The middle of the whole nights, and how far one is from the next."""
    whole = [night for night in nights if night.whole and night.run_s and night.used_mah]
    if not whole:
        return None
    currents = [minute.current_ma / 1000.0 for minute in _minutes(whole)]
    used_ah = median((night.used_mah or 0) / 1000.0 for night in whole)
    run_s = median(float(night.run_s or 0) for night in whole)
    current_a = median(currents) if currents else used_ah / run_s * 3600.0
    idle_a = settings.get("board_ua", _BOARD_UA) * 1e-6
    spread = max(USE_SPREAD, _use_spread(nights))
    return Usual(run_s, current_a, idle_a, used_ah), spread, ""


def _expected(
    nights: Sequence[Night], settings: dict[str, int]
) -> tuple[Usual | None, float, str]:
    """Before there was a whole night: the sets as set, with what a part of one has told."""
    minutes = _minutes(nights)
    known = len(minutes) >= PART_MINUTES
    currents = [minute.current_ma / 1000.0 for minute in minutes]
    if settings:
        flows = [minute.flow_ml_min for minute in minutes if minute.flow_ml_min]
        night = planned_night(settings, round(median(flows)) if known and flows else 0)
        current_a = median(currents) if known else night.current_a
        usual = Usual(night.run_s, current_a, night.idle_a, night.used_ah(current_a))
        if not known:
            return usual, PLAN_SPREAD, BY_PLAN
        return usual, PART_SPREAD, BY_PART
    part = [night for night in nights if night.share and night.run_s]
    if not known or not part:
        return None, PLAN_SPREAD, ""
    run_s = float(part[-1].run_s or 0) / (part[-1].share or 1.0)
    current_a, idle_a = median(currents), _BOARD_UA * 1e-6
    used_ah = current_a * run_s / 3600.0 + idle_a * _DAY_H
    return Usual(run_s, current_a, idle_a, used_ah), PART_SPREAD, BY_PART


def _minutes(nights: Sequence[Night]) -> list[Minute]:
    return [minute for night in nights for run in night.runs for minute in run.minutes]


def _use_spread(nights: Sequence[Night]) -> float:
    used = [float(night.used_mah or 0) for night in nights if night.whole and night.used_mah]
    return pstdev(used) / (sum(used) / len(used)) if len(used) > 1 else 0.0
