"""What is wrong now, in one list, worst first: the one diagnosis that everything shows.

It has three witnesses: the board's own stops and warnings, what `why` finds in the same log
against the site's model, and the figures of the last night. What two of them tell is one trouble:
the board says that it stopped, `why` says for what cause.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from keeper.cycle import LOCKOUT
from keeper.records import MISSED
from keeper.rules import NAME, RULES
from rillkeeper.display_units import day_text
from rillkeeper.inquiry.why.found import Found, FoundTrouble
from rillkeeper.morning.report.figures import far_off
from rillkeeper.morning.report.report import Event, Report
from rillkeeper.runlog.sentences import STOP, WARNING
from rillkeeper.verdict import ACT, LOOK

BOARD, WHY, FIGURES = "the board", "why", "the figures"

_WATER, _SUPPLY = ("water",), ("supply", "battery", "relay")
KINDS_OF_RULE = {
    **dict.fromkeys(("high pressure", "dead head", "slow choke"), (*_WATER, "sensor")),
    **dict.fromkeys(("dry run", "no prime", "dry too long", "line open"), (*_WATER, "sensor")),
    **dict.fromkeys(("no flow", "bad meter"), (*_WATER, "sensor")),
    **dict.fromkeys(("weak supply", "bad supply", "brown-out", "low charge"), _SUPPLY),
    **dict.fromkeys(("stall", "stall by sag", "fuse blown"), (*_WATER, *_SUPPLY)),
    **dict.fromkeys(("relay open", "relay closed", "relay chatter", "relay stuck"), _SUPPLY),
    **dict.fromkeys(("bad battery", "bad pressure", "swapped", "no sag"), ("sensor", *_SUPPLY)),
}
"""Kinds of causes of which a rule's stop or warning may be the sign."""
SLOW_PRIME = "slow to draw water"


@dataclass(frozen=True)
class OpenTrouble:
    """One thing that is wrong and, as far as the log tells, not mended."""

    state: str
    """"act": it stops the watering; "look": look at it when you are there."""
    name: str
    since: str
    """From when on, for the end of a sentence."""
    look: str
    """Where to look first."""
    told_by: tuple[str, ...]
    """Who tells it: the board, why, the figures."""
    kinds: tuple[str, ...] = ()
    since_day: int | None = None
    """Day number of the night since which it is so."""
    causes: tuple[str, ...] = ()
    """What `why` names; several where they look alike to these sensors."""
    how_bad: str = ""
    said: str = ""
    """What the board says of it, in short."""

    @property
    def sentence(self) -> str:
        """What and since when."""
        return f"{self.name}, {self.since}"

    @property
    def advice(self) -> str:
        """How bad it is, where one cause is named, and where to look first."""
        if len(self.causes) != 1 or not self.how_bad:
            return self.look
        return f"{self.how_bad[0].upper()}{self.how_bad[1:]}. {self.look}"


@dataclass(frozen=True)
class Troubles:
    """All that is wrong now, worst first, and what was wrong and is over."""

    open: tuple[OpenTrouble, ...]
    over: tuple[str, ...]


def troubles_of(report: Report) -> Troubles:
    """The diagnosis of a report."""
    found = report.found
    named = [one for one in found.troubles if one.open] if found else []
    groups = _open_events(report.events)
    rest = [group for group in groups if not _explained(group[-1], named)]
    troubles = [_named(one, [g for g in groups if _explained(g[-1], [one])]) for one in named]
    troubles += [_by_board(report, group) for group in rest]
    known = {kind for one in troubles for kind in one.kinds}
    troubles += [
        OpenTrouble(
            LOOK,
            figure.words,
            figure.since,
            figure.look,
            (FIGURES,),
            (figure.kind,),
            figure.since_day,
        )
        for figure in far_off(report)
        if figure.kind not in known
    ]
    silent = _silent(report)
    if silent and not any(one.state == ACT for one in troubles):
        troubles.append(silent)
    troubles.sort(key=lambda one: one.state != ACT)
    return Troubles(tuple(troubles), tuple(_over(report.events, found)))


def rule_of(event: Event) -> str:
    """The name of the rule that an event tells of; empty where it tells of none."""
    number = event.entry.numbers.get("rule", -1)
    if event.told.short == SLOW_PRIME:
        return "no prime"
    return str(RULES[number][NAME]) if 0 <= number < len(RULES) else ""


def _open_events(events: Sequence[Event]) -> list[list[Event]]:
    """Events that nothing since has ended, those that say the same together; newest last."""
    found: dict[str, list[Event]] = {}
    for event in events:
        if event.open and event.told.level >= WARNING and not _follows(event):
            found.setdefault(event.told.short, []).append(event)
    groups = sorted(found.values(), key=lambda group: -group[-1].number)
    return sorted(groups, key=lambda group: -max(one.told.level for one in group))


def _follows(event: Event) -> bool:
    """Whether it only follows from another: a set missed in a lockout, which is told itself."""
    numbers = event.entry.numbers
    missed = event.entry.kind == "skip" and numbers.get("cause") == MISSED
    return missed and numbers.get("value") == LOCKOUT


def _explained(event: Event, named: Sequence[FoundTrouble]) -> bool:
    """Whether `why` names what this stop or warning is the sign of."""
    rule = rule_of(event)
    kinds = set(KINDS_OF_RULE.get(rule, ()))
    return any(
        rule in one.rules or (kinds & set(one.kinds) and one.since_day <= event.night)
        for one in named
    )


def _named(one: FoundTrouble, groups: Sequence[Sequence[Event]]) -> OpenTrouble:
    """A trouble of `why`, with what the board says of it."""
    names = ", or ".join(one.names)
    said = ", ".join(group[-1].told.short for group in groups)
    stops = any(event.told.level == STOP for group in groups for event in group)
    return OpenTrouble(
        ACT if stops else LOOK,
        f"{names} (the board says: {said})" if said else names,
        one.since,
        one.look,
        (WHY, BOARD) if said else (WHY,),
        one.kinds,
        one.since_day,
        one.names,
        one.how_bad,
        said,
    )


def _by_board(report: Report, group: Sequence[Event]) -> OpenTrouble:
    """What only the board says."""
    last = group[-1]
    first = _first_of(report, group[0])
    stops = any(event.told.level == STOP for event in group)
    since = f"since {first.when}" if first.t_s is not None else f"since {day_text(first.night)}"
    return OpenTrouble(
        ACT if stops else LOOK,
        last.told.short,
        since,
        last.told.look,
        (BOARD,),
        KINDS_OF_RULE.get(rule_of(last), ()),
        first.night,
        said=last.told.short,
    )


def _first_of(report: Report, event: Event) -> Event:
    """The first of the same events on nights one after the other, those apart that did nothing."""
    first = event
    for night in reversed([one for one in report.nights if one.day < event.night]):
        same = [one for one in report.events_of(night) if one.told.short == event.told.short]
        if same:
            first = same[0]
        elif night.runs:
            break
    return first


def _silent(report: Report) -> OpenTrouble | None:
    """A last night of which the board wrote nothing."""
    if not report.nights or report.nights[-1].run_s is not None:
        return None
    since = report.nights[-1].day
    for night in reversed(report.nights):
        if night.run_s is not None:
            break
        since = night.day
    look = "Is the battery on its clamps, and is the fuse whole?"
    return OpenTrouble(
        ACT,
        "the board wrote nothing",
        f"since the night of {day_text(since)}",
        look,
        (BOARD,),
        since_day=since,
    )


def _over(events: Sequence[Event], found: Found | None) -> Iterator[str]:
    """What was wrong before and is not any more."""
    for one in found.troubles if found else ():
        if not one.open:
            yield f"{', or '.join(one.names)}, {one.since}"
    explained = {rule for one in (found.troubles if found else ()) for rule in one.rules}
    seen: dict[str, list[Event]] = {}
    for event in events:
        if event.told.level == STOP and not event.open and rule_of(event) not in explained:
            seen.setdefault(event.told.short, []).append(event)
    for short, group in seen.items():
        yield f"{short}, {group[-1].when}"
