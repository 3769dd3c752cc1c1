"""The plan of the coming nights in words: a row a night, the sentences over it, what to carry."""

from collections.abc import Iterator
from typing import NamedTuple

from rillkeeper.design.size.shopping import CARRY_MOST_KG, battery_kg
from rillkeeper.display_units import clock_text, counted, date_of, day_text
from rillkeeper.morning.coming.plan import Coming, ComingNight, PlannedSet, Trip, minutes, times_of
from rillkeeper.text_table import TextTable
from rillsim.site import Site

TITLE = "The coming nights"


class Row(NamedTuple):
    """One night for a table or a list."""

    day: str
    to_do: tuple[str, ...]
    """Before its evening, worst first; empty where nothing is."""
    sets: str
    figures: tuple[tuple[str, str, str], ...]
    """Name, value and unit: water, nights left, what the cistern holds, the season's sum."""


def rows(plan: Coming) -> list[Row]:
    """Every night of the plan."""
    sets = ", ".join(set_text(plan, one) for one in plan.sets)
    return [Row(day_text(n.day), _to_do(plan, n), sets, _figures(plan, n)) for n in plan.nights]


def table(plan: Coming) -> TextTable:
    """The plan as a table, with its sentences as the note."""
    found = rows(plan)
    names = tuple(name for name, _, _ in found[0].figures)
    return TextTable(
        "coming",
        f"{TITLE}, if it stays dry",
        ("Night of", *names, "Before its evening"),
        tuple(_cells(row) for row in found),
        "\n".join(sentences(plan)),
    )


def _cells(row: Row) -> tuple[str, ...]:
    figures = (f"{value} {unit}".rstrip() for _, value, unit in row.figures)
    return (row.day, *figures, "; ".join(row.to_do))


def set_text(plan: Coming, one: PlannedSet) -> str:
    """A set in a few words: "22:30, 60 min in 2 runs, 1014 L"."""
    text = f"{clock_text(one.start_s)}, {minutes(one.pump_s)} min"
    text += f" in {one.runs} runs" if one.runs > 1 else ""
    return f"{text}, {plan.shown.text(one.m3, 'volume')}"


def sentences(plan: Coming) -> list[str]:
    """What the plan says, a sentence or two each: battery, cistern, season, rain."""
    return [
        f"Each night: {', '.join(set_text(plan, one) for one in plan.sets)}.",
        *_of_battery(plan),
        *_of_source(plan),
        *_of_season(plan),
        _of_rain(plan),
        *plan.start.notes,
    ]


def first_thing(plan: Coming) -> str:
    """The plan in one sentence: the next time that a hand is wanted."""
    for night in plan.nights:
        to_do = _to_do(plan, night)
        if to_do:
            return f"Next at the plot: {day_text(night.day)}, {'; '.join(to_do)}."
    if plan.start.nights_left is None:
        return "What the battery still holds is not known, so no day to take it home can be named."
    until = day_text(plan.nights[-1].day)
    return f"Nothing has to be done at the plot up to the night of {until}."


def trip_text(trip: Trip) -> str:
    """The times of a trip: "battery home, 08:30 to 17:30"."""
    text = f"battery home, {clock_text(trip.away_s)} to {clock_text(trip.back_s)}"
    if trip.charged < 0.995:
        text += f", comes back {100.0 * trip.charged:.0f} % charged"
    return text


def carry(site: Site) -> list[tuple[str, tuple[str, ...]]]:
    """What to carry when: a heading, and the things. Common practice, no source."""
    kg = battery_kg(site.battery.chemistry, site.battery.capacity_ah)
    heavy = f"the battery, about {kg:.0f} kg"
    if kg > CARRY_MOST_KG:
        heavy += ": two people or a cart"
    lead = site.battery.chemistry != "lfp"
    home = [heavy, *(["goggles: there is acid in it"] if lead else [])]
    back = [
        heavy,
        f"a spare fuse, {site.cable.fuse_a:g} A",
        "cloth and brush, for the clamps and the strainer",
        "laptop or phone with its cable, to read the log",
    ]
    refill = ["water, or hose and pump to fill from"] if site.water.stored_m3 else []
    groups = [
        ("Home with the battery. Hand switch off first, then the black clamp, then the red", home),
        ("Back with it. Red clamp first, then the black, the hand switch last", back),
        ("To fill the cistern", refill),
    ]
    return [(heading, tuple(things)) for heading, things in groups if things]


def _to_do(plan: Coming, night: ComingNight) -> tuple[str, ...]:
    found = []
    if night.trip:
        text = trip_text(night.trip)
        if night.trip.earliest < night.day:
            text += f" (perhaps {day_text(night.trip.earliest)} already)"
        found.append(text)
    if night.refill:
        wanted = plan.shown.text(night.refill.wanted_m3, "volume")
        found.append(f"fill the cistern: {wanted} go in")
    if night.day == plan.permit_ends:
        found.append("the season's permit is used up: hold the sets")
    return tuple(found)


def _figures(plan: Coming, night: ComingNight) -> tuple[tuple[str, str, str], ...]:
    shown = plan.shown
    volume = shown.unit("volume")
    left = "-" if night.nights_left is None else f"{night.nights_left:.1f}"
    found = [
        ("Water", shown.bare(plan.night_m3, "volume"), volume),
        ("Nights left", left, ""),
    ]
    if plan.site.water.stored_m3:
        found.append(("Cistern", shown.bare(night.source_m3, "volume"), volume))
    found.append(("Season", shown.bare(night.season_m3, "volume"), volume))
    return tuple(found)


def _of_battery(plan: Coming) -> Iterator[str]:
    full = plan.start.full_nights
    if plan.start.nights_left is None:
        yield "What the battery still holds is not known: no day to take it home can be named."
    elif full < 1.0:
        yield (
            f"A full charge gives {full:.1f} nights, less than one: `rillkeeper size` says what "
            "would help."
        )
    else:
        yield (
            f"The charge gives {plan.start.nights_left:.1f} nights now and {full:.1f} when full; "
            "the battery goes home before a night that it cannot give whole."
        )
    away_s, back_s = times_of(plan.site)
    if plan.trips and any(away_s <= one.start_s < back_s for one in plan.sets):
        yield "A set starts while the battery is away: another time under [home] spares it."


def _of_source(plan: Coming) -> Iterator[str]:
    water = plan.site.water
    if not water.stored_m3:
        return
    if max(water.full_m3, water.stored_m3) < plan.night_m3:
        yield "A full cistern holds less than one night takes."
    elif plan.start.source_m3 is not None:
        holds = plan.shown.text(plan.start.source_m3, "volume")
        yield f"The cistern holds {holds} before the first of these nights."


def _of_season(plan: Coming) -> Iterator[str]:
    season, permit, shown = plan.start.season, plan.site.permit, plan.shown
    taken = shown.text(season.m3, "volume")
    since = f"{day_text(season.since_day)} {date_of(season.since_day).year}"
    text = f"Taken this season, since {since}: {taken}"
    if permit.season_m3:
        text += f" of {shown.text(permit.season_m3, 'volume')} that the permit allows"
        if plan.permit_ends is not None:
            text += f"; at {shown.text(plan.night_m3, 'volume')} a night it is used up "
            text += f"before the night of {day_text(plan.permit_ends)}"
    yield f"{text}."
    if season.unknown_nights:
        nights = counted(season.unknown_nights, "night")
        yield f"Of {nights} in it nothing is known: what they took is not counted."
    if 0.0 < permit.day_m3 < plan.night_m3:
        yield (
            f"A night takes {shown.text(plan.night_m3, 'volume')}, and the permit allows "
            f"{shown.text(permit.day_m3, 'volume')} a day: make the sets shorter."
        )


def _of_rain(plan: Coming) -> str:
    chance = 100.0 * plan.site.weather.rain_chance
    return (
        f"Rain, by the site file {chance:.0f} % of days, is not in it: which days nobody knows. A "
        "night that is rained off moves all that follows a night later."
    )
