"""The plan of the coming nights as an iCalendar file (RFC 5545), for a phone.

Written here in a page of code, since of the standard only events, dates and alarms are wanted;
the tests read it with a library of others.

Times are floating, which the standard means by a time without a zone: "22:30 at the garden, by
whatever the clock there says". The board's clock has no zone either, the site file does not know
one, and garden and phone are in one place. A time with a zone would ask for the zone's whole
table of rules; one in UTC would be an hour off after the clocks change.

An event keeps its UID from file to file, so that a second import moves it in the place of
doubling it: a set goes by its date and number, a trip home by its number in the season, a refill
by its number in the plan. SEQUENCE and DTSTAMP grow with the time at which the file is made, for
readers that take the newest.

References
----------
.. [1] RFC 5545 (2009), Internet Calendaring and Scheduling Core Object Specification: 3.1 folding,
   3.3.5 floating time, 3.3.11 escapes, 3.6.1 event, 3.6.6 alarm, 3.8.4.7 UID, 3.8.7.4 SEQUENCE.
.. [2] RFC 7986 (2016), 5.1 NAME, and 5.3: a UID is made of a UUID, not of a host's name.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from uuid import NAMESPACE_URL, uuid5

from rillkeeper.display_units import date_of, day_text
from rillkeeper.morning.coming.plan import Coming, PlannedSet, Refill, Trip, minutes
from rillkeeper.morning.coming.words import carry, set_text, trip_text

PRODUCT = "-//rillkeeper//coming nights//EN"
FOLD_BYTES = 75
"""Longest line without its end [1]_."""
EVE_H = 12
"""A trip is called to mind so long before it begins: the evening before."""
BACK_H = 1
REFILL_H = 4
"""Before the midnight at which the day of a refill begins."""
_EPOCH = datetime(2020, 1, 1, tzinfo=UTC)


def text_of(plan: Coming, made_at: datetime) -> str:
    """The file; ``made_at`` is now, with a time zone."""
    made_at = made_at.astimezone(UTC)
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        f"NAME:{escaped(plan.site.name)}",
        f"X-WR-CALNAME:{escaped(plan.site.name)}",
        *(line for event in _events(plan) for line in _whole(plan, event, made_at)),
        "END:VCALENDAR",
    ]
    return "".join(f"{folded(line)}\r\n" for line in lines)


def escaped(text: str) -> str:
    r"""A text value: backslash, semicolon, comma and line end are escaped.

    >>> escaped("Pond; left, by the mill\nUp\\down")
    'Pond\\; left\\, by the mill\\nUp\\\\down'
    """
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(letter for letter in text if letter >= " " or letter == "\t")


def folded(line: str) -> str:
    """A line in pieces of at most 75 bytes; no letter is cut in its middle.

    >>> [len(part.encode()) for part in folded("x" * 74 + "\u00e4" + "y" * 80).split("\\r\\n")]
    [74, 75, 9]
    """
    parts, part, size = [], "", 0
    for letter in line:
        width = len(letter.encode())
        if size + width > FOLD_BYTES:
            parts.append(part)
            part, size = " ", 1
        part += letter
        size += width
    return "\r\n".join([*parts, part])


class _Event:
    """What one event says; ``own`` makes its UID."""

    def __init__(self, own: str, summary: str, text: str, when: list[str], alarms: list[str]):
        self.own, self.summary, self.text = own, summary, text
        self.when, self.alarms = when, alarms


def _whole(plan: Coming, event: _Event, made_at: datetime) -> Iterator[str]:
    name = plan.site.name
    yield "BEGIN:VEVENT"
    yield f"UID:{uuid5(NAMESPACE_URL, f'rillkeeper:{name}:{event.own}')}"
    yield f"DTSTAMP:{made_at:%Y%m%dT%H%M%SZ}"
    yield f"SEQUENCE:{int((made_at - _EPOCH).total_seconds()) // 60}"
    yield from event.when
    yield f"SUMMARY:{escaped(event.summary)}"
    yield f"DESCRIPTION:{escaped(event.text)}"
    yield f"LOCATION:{escaped(name)}"
    yield "TRANSP:TRANSPARENT"
    for trigger in event.alarms:
        yield "BEGIN:VALARM"
        yield "ACTION:DISPLAY"
        yield f"TRIGGER{trigger}"
        yield f"DESCRIPTION:{escaped(event.summary)}"
        yield "END:VALARM"
    yield "END:VEVENT"


def _events(plan: Coming) -> Iterator[_Event]:
    for night in plan.nights:
        if night.trip:
            yield _trip(plan, night.trip)
        if night.refill:
            yield _refill(plan, night.refill)
        if plan.permit_ends == night.day:
            yield _permit(plan, night.day)
        for one in plan.sets:
            if one.pump_s > 0.0:
                yield _set(plan, night.day, one)


def _set(plan: Coming, day: int, one: PlannedSet) -> _Event:
    begins = _at(day + one.day_offset(), one.start_s)
    ends = begins + timedelta(minutes=max(1, minutes(one.pump_s + one.pause_s)))
    text = f"{set_text(plan, one)}. Left out if it rains; later where the board must try again."
    title = f"Watering, set {one.number}" if len(plan.sets) > 1 else "Watering"
    return _Event(f"set:{date_of(day)}:{one.number}", title, text, _from_to(begins, ends), [])


def _trip(plan: Coming, trip: Trip) -> _Event:
    begins, ends = _at(trip.day, trip.away_s), _at(trip.day, trip.back_s)
    parts = [f"{heading}: {', '.join(things)}." for heading, things in carry(plan.site)[:2]]
    if trip.earliest < trip.day:
        parts.insert(0, f"Perhaps {day_text(trip.earliest)} already.")
    alarms = [f":-PT{EVE_H}H", f";RELATED=END:-PT{BACK_H}H"]
    own = f"home:{plan.start.season.since_day}:{trip.number}"
    title = trip_text(trip)
    return _Event(
        own, title[:1].upper() + title[1:], "\n".join(parts), _from_to(begins, ends), alarms
    )


def _refill(plan: Coming, refill: Refill) -> _Event:
    wanted, left = (plan.shown.text(m3, "volume") for m3 in (refill.wanted_m3, refill.left_m3))
    text = f"{left} are left, too little for the night. If it stays dry."
    own = f"refill:{plan.start.season.since_day}:{refill.number}"
    return _Event(own, f"Fill the cistern, {wanted}", text, _all_day(refill.day), [_EVE])


def _permit(plan: Coming, day: int) -> _Event:
    allowed = plan.shown.text(plan.site.permit.season_m3, "volume")
    text = f"The {allowed} of this season do not cover this night: hold the sets."
    own = f"permit:{plan.start.season.since_day}"
    return _Event(own, "The water permit is used up", text, _all_day(day), [_EVE])


_EVE = f":-PT{REFILL_H}H"


def _at(day: int, second: int) -> datetime:
    return datetime.combine(date_of(day), datetime.min.time()) + timedelta(seconds=second)


def _from_to(begins: datetime, ends: datetime) -> list[str]:
    return [f"DTSTART:{begins:%Y%m%dT%H%M%S}", f"DTEND:{ends:%Y%m%dT%H%M%S}"]


def _all_day(day: int) -> list[str]:
    first: date = date_of(day)
    after = first + timedelta(days=1)
    return [f"DTSTART;VALUE=DATE:{first:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}"]
