"""What a long report puts together: nights alike, events alike, and a lockout that still holds."""

from collections.abc import Sequence
from typing import NamedTuple

from keeper.cycle import LOCKOUT
from keeper.hand import CLEAR
from keeper.rules import LOCK
from rillkeeper.display_units import day_text
from rillkeeper.morning.report.report import Event, Report
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.sentences import STOP

ALIKE_MIN = 3
"""So many rows of one kind become one."""


class NightSpan(NamedTuple):
    """Nights one after the other in which the pump stood and the same is to be told, or one."""

    first: Night
    last: Night

    @property
    def days(self) -> str:
        """From when to when: "Fri 17 Jul to Fri 7 Aug"."""
        if self.first.day == self.last.day:
            return day_text(self.first.day)
        return f"{day_text(self.first.day)} to {day_text(self.last.day)}"


def night_spans(report: Report) -> list[NightSpan]:
    """The nights of a report, those alike put together."""
    groups: list[list[Night]] = []
    for night in report.nights:
        before = groups[-1][-1] if groups else None
        if before and not night.runs and _row(report, before) == _row(report, night):
            groups[-1].append(night)
        else:
            groups.append([night])
    return [
        span
        for group in groups
        for span in (
            [NightSpan(group[0], group[-1])]
            if len(group) >= ALIKE_MIN
            else [NightSpan(night, night) for night in group]
        )
    ]


class EventSpan(NamedTuple):
    """Events one after the other that say the same, or one."""

    first: Event
    last: Event

    @property
    def numbers(self) -> str:
        """As the pictures have them: "9-30"."""
        if self.first is self.last:
            return str(self.first.number)
        return f"{self.first.number}-{self.last.number}"

    @property
    def when(self) -> str:
        """From when to when."""
        if self.first is self.last:
            return self.first.when
        return f"{self.first.when} to {self.last.when}"


def event_spans(events: Sequence[Event]) -> list[EventSpan]:
    """The events of a report, those alike put together; a stop always stands by itself."""
    groups: list[list[Event]] = []
    for event in events:
        same = groups and groups[-1][-1].told == event.told and event.told.level < STOP
        if same:
            groups[-1].append(event)
        else:
            groups.append([event])
    return [
        span
        for group in groups
        for span in (
            [EventSpan(group[0], group[-1])]
            if len(group) >= ALIKE_MIN
            else [EventSpan(event, event) for event in group]
        )
    ]


def lockout_of(report: Report) -> str:
    """A lockout that nothing in the log has ended, as a sentence; empty where there is none."""
    since: Event | None = None
    for entry in report.log.entries:
        locks = entry.kind == "trip" and entry["action"] == LOCK
        if locks:
            since = next((one for one in report.events if one.entry is entry), None)
        elif (
            entry.kind == "start"
            or (entry.kind == "boot" and entry["state"] != LOCKOUT)
            or (entry.kind == "hand" and entry["command"] == CLEAR)
        ):
            since = None
    if since is None:
        return ""
    return (
        f"Locked out since {since.when}: {since.told.short}. No water until somebody has looked, "
        "and cleared it at the board."
    )


def _row(report: Report, night: Night) -> tuple[str, str, bool]:
    """What a row of it tells but for its figures."""
    return report.planned_short(night), report.happened(night), bool(night.runs)
