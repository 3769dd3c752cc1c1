"""What a night takes by the board's settings, and what of the last one is still to come.

A log may be read at any time: in the afternoon, while the pump runs, between two sets.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from keeper import Settings
from keeper.charge import Charge
from keeper.checked import OFF, SETS
from keeper.facts import Facts
from keeper.plan import Plan
from rillkeeper.runlog.nights import Night

_DAY_H = 24.0
ALL = 0.999
"""Of a night: none of its sets has begun."""


@dataclass(frozen=True)
class PlannedNight:
    """All sets of a night, as the board reckons them before it has pumped."""

    sets_s: dict[int, int]
    """Pumping time by the number of the set."""
    last_start_s: dict[int, int]
    """Seconds since noon after which the set is not begun any more."""
    current_a: float
    """At the usual pressure."""
    idle_a: float

    @property
    def run_s(self) -> float:
        """Pumping time of all of them."""
        return float(sum(self.sets_s.values()))

    def used_ah(self, current_a: float) -> float:
        """Charge from noon to noon, with the pump at this current."""
        return current_a * self.run_s / 3600.0 + self.idle_a * _DAY_H

    def due(self, night: Night) -> float:
        """Share of its pumping time that is still to come when the log ends, 0 to 1.

        Nothing comes any more once the night is closed, and of a set that was ended or left out.
        """
        if night.closing or not self.run_s or not night.entries:
            return 0.0
        last = night.entries[-1]
        begun = {entry["set"] for entry in night.entries if entry.kind in ("set", "skip")}
        to_come_s = sum(
            pump_s
            for number, pump_s in self.sets_s.items()
            if number not in begun
            and last.trusted
            and last.since_noon_s <= self.last_start_s[number]
        )
        return (to_come_s + self._rest_s(night)) / self.run_s

    def _rest_s(self, night: Night) -> float:
        """Of the set that is being given."""
        ended = {entry["set"] for entry in night.entries if entry.kind in ("given", "skip")}
        taken_up = [
            entry["set"]
            for entry in night.entries
            if entry.kind == "set" and entry["set"] in self.sets_s
        ]
        if not taken_up or taken_up[-1] in ended:
            return 0.0
        tally = night.sets[-1]
        share = min(1.0, tally.given / tally.target) if tally.target else 1.0
        return (1.0 - share) * self.sets_s[taken_up[-1]]


def planned_night(settings: dict[str, int], flow_ml_min: int = 0) -> PlannedNight:
    """By the board's settings; ``flow_ml_min`` is the flow, where a log tells of it.

    >>> from rillkeeper.design.limits.derive import settings_of
    >>> from rillkeeper.site.file import demo_site
    >>> night = planned_night(settings_of(demo_site()))
    >>> night.sets_s, round(night.used_ah(night.current_a), 1)
    ({1: 3586}, 12.5)
    """
    checked = Settings(settings)
    facts = Facts(checked)
    plan = Plan(checked, facts)
    flow = flow_ml_min or settings["flow_ml_min"]
    numbers = [number for number in range(1, SETS + 1) if plan.units[number] != OFF]
    return PlannedNight(
        {number: plan.set_s(number, flow) for number in numbers},
        {number: plan.starts_s[number] + plan.windows_s[number] for number in numbers},
        Charge(checked, facts).pump_ma(settings["normal_pa"]) / 1000.0,
        settings["board_ua"] * 1e-6,
    )


def to_come(nights: Sequence[Night], settings: dict[str, int]) -> float:
    """Share of the last night that is still to come, by the board's settings; 0 without them."""
    return planned_night(settings).due(nights[-1]) if nights and settings else 0.0


def next_day(nights: Sequence[Night], settings: dict[str, int]) -> int:
    """Day number of the first night of which nothing has been given when the log ends."""
    if not nights:
        return 0
    return nights[-1].day + (0 if to_come(nights, settings) > ALL else 1)
