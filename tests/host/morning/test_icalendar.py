"""The iCalendar file, read by a library of others: PyPI `icalendar`, an RFC 5545 parser."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from icalendar import Calendar, Event

from rillkeeper.cli import cli
from rillkeeper.display_units import date_of
from rillkeeper.morning.coming import Coming, coming_nights, from_size
from rillkeeper.morning.coming.icalendar import text_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.site.file import DEMO as DEMO_FILE
from rillkeeper.site.file import demo_site
from rillsim.site import PermitSpec, Site
from tests.host.morning.sample_week import demo_week

MADE = datetime(2026, 7, 9, 6, 30, tzinfo=UTC)
LATER = MADE + timedelta(days=1)
DEMO = demo_site()
NAME = 'Gärten; am Bach, "Mühle" \\ wo die Weiden über dem Wasser stehen, links der Straße'
SITE = replace(
    DEMO,
    name=NAME,
    water=replace(DEMO.water, stored_m3=2.5),
    permit=PermitSpec(season_m3=5.5),
)


def plan_of(site: Site = SITE, ahead: int = 7, first: int | None = None) -> Coming:
    return from_size(site, ahead, first)


def read(plan: Coming, made_at: datetime = MADE) -> Calendar:
    """As the library reads it; it raises for what the standard does not allow."""
    found = Calendar.from_ical(text_of(plan, made_at).encode())
    assert not found.errors
    assert not any(event.errors for event in found.walk())
    return found


def events(plan: Coming, made_at: datetime = MADE) -> list[Event]:
    return list(read(plan, made_at).walk("VEVENT"))


def test_the_bytes_are_as_the_standard_wants_them() -> None:
    raw = text_of(plan_of(), MADE).encode()
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert raw.count(b"\n") == raw.count(b"\r\n") == raw.count(b"\r")
    lines = raw.split(b"\r\n")
    assert max(map(len, lines)) == 75, "3.1: folded, and some line is long enough to need it"
    for line in lines:
        line.decode()  # No letter is cut in its middle.
    assert lines[:3] == [
        b"BEGIN:VCALENDAR",
        b"VERSION:2.0",
        b"PRODID:-//rillkeeper//coming nights//EN",
    ]


def test_each_event_has_what_the_standard_asks_for() -> None:
    plan = plan_of()
    found = events(plan)
    assert len(found) == len(plan.nights) + len(plan.trips) + len(plan.refills) + 1
    for event in found:
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"):
            assert name in event, "3.6.1"
        assert event.decoded("DTSTAMP") == MADE, "3.8.7.2: in UTC"
        assert str(event["LOCATION"]) == NAME, "3.3.11: escapes, and folds within letters"
        begins, ends = event.decoded("DTSTART"), event.decoded("DTEND")
        assert type(begins) is type(ends)
        assert ends > begins
        if isinstance(begins, datetime):
            assert begins.tzinfo is None, "3.3.5 form 1: floating, as the board's clock is"
    assert len({str(event["UID"]) for event in found}) == len(found)


def test_times_are_those_of_the_plan() -> None:
    plan = plan_of()
    by_name: dict[str, list[Event]] = {}
    for event in events(plan):
        by_name.setdefault(str(event["SUMMARY"]).split(",")[0], []).append(event)
    first = datetime.combine(date_of(plan.start.day), datetime.min.time())
    sets = by_name["Watering"]
    assert sets[0].decoded("DTSTART") == first + timedelta(hours=22, minutes=30)
    # An hour of pumping and twenty minutes of pause.
    lasts = sets[0].decoded("DTEND") - sets[0].decoded("DTSTART")
    assert lasts / timedelta(minutes=1) == pytest.approx(plan.sets[0].pump_s / 60 + 20, abs=1)
    trip = by_name["Battery home"][0]
    day = date_of(plan.trips[0].day)
    assert trip.decoded("DTSTART") == datetime(day.year, day.month, day.day, 8, 30)
    assert trip.decoded("DTEND") == datetime(day.year, day.month, day.day, 17, 30)
    refill = by_name["Fill the cistern"][0]
    assert refill.decoded("DTSTART") == date_of(plan.refills[0].day)
    assert isinstance(refill.decoded("DTSTART"), date)
    assert plan.permit_ends is not None
    assert by_name["The water permit is used up"][0].decoded("DTSTART") == date_of(
        plan.permit_ends
    )


def test_alarms_ring_the_evening_before_and_before_it_is_back() -> None:
    trip = next(e for e in events(plan_of()) if "Battery" in e["SUMMARY"])
    eve, back = trip.walk("VALARM")
    assert [str(one["ACTION"]) for one in (eve, back)] == ["DISPLAY"] * 2
    assert eve.decoded("TRIGGER") == timedelta(hours=-12)
    assert back.decoded("TRIGGER") == timedelta(hours=-1)
    assert back["TRIGGER"].params["RELATED"] == "END"
    # As the library reckons them: 20:30 the evening before, 16:30 of the day.
    rings = sorted(one.trigger for one in trip.alarms.times)
    day = date_of(plan_of().trips[0].day)
    noon = datetime(day.year, day.month, day.day, 12)
    assert rings == [noon - timedelta(hours=15, minutes=30), noon + timedelta(hours=4, minutes=30)]
    assert not [e for e in events(plan_of()) if "Watering" in e["SUMMARY"] and e.walk("VALARM")]


def test_a_second_import_moves_and_does_not_double() -> None:
    """A phone keeps one event a UID, the one with the higher SEQUENCE."""
    before = plan_of()
    start = replace(before.start, nights_left=1.4)
    after = coming_nights(SITE, start, before.sets, 7)
    assert after.trips[0].day != before.trips[0].day
    phone = {str(event["UID"]): event for event in events(before)}
    for event in events(after, LATER):
        old = phone.get(str(event["UID"]))
        assert old is None or old["SEQUENCE"] < event["SEQUENCE"]
        phone[str(event["UID"])] = event
    home = [e for e in phone.values() if "Battery" in e["SUMMARY"]]
    assert sorted(e.decoded("DTSTART").date() for e in home) == [
        date_of(trip.day) for trip in after.trips
    ]
    watering = [e.decoded("DTSTART") for e in phone.values() if "Watering" in e["SUMMARY"]]
    assert len(watering) == len(set(watering)) == 7


def test_the_next_days_file_goes_on_with_the_same_nights() -> None:
    today, tomorrow = plan_of(), plan_of(first=plan_of().start.day + 1)
    same = {str(e["UID"]) for e in events(today)} & {str(e["UID"]) for e in events(tomorrow)}
    sets = [e for e in events(tomorrow) if "Watering" in e["SUMMARY"] and str(e["UID"]) in same]
    assert len(sets) == 6
    other = plan_of(replace(SITE, name="another plot"))
    assert not {str(e["UID"]) for e in events(today)} & {str(e["UID"]) for e in events(other)}


def test_the_command_writes_it(tmp_path: Path) -> None:
    ics, page = tmp_path / "plot.ics", tmp_path / "plot.html"
    args = ["size", str(DEMO_FILE), "--ahead", "3", "--from", "2027-02-27"]
    result = CliRunner().invoke(cli, [*args, "--calendar", str(ics), "--calendar", str(page)])
    assert result.exit_code == 0, result.output
    found = Calendar.from_ical(ics.read_bytes())
    assert b"\r\r" not in ics.read_bytes()
    starts = [event.decoded("DTSTART") for event in found.walk("VEVENT")]
    assert min(starts) == datetime(2027, 2, 27, 22, 30)
    assert max(starts) == datetime(2027, 3, 1, 22, 30)
    assert "Mon 1 Mar" in page.read_text(encoding="utf-8")


def test_a_report_goes_on_where_the_log_ends(tmp_path: Path) -> None:
    """Of a log that is shown from its middle on, the season is whole and the trips go on."""
    log, ics, page = tmp_path / "week.log", tmp_path / "plot.ics", tmp_path / "nights.html"
    log.write_text("\n".join(demo_week().log), encoding="ascii")
    args = [
        "report",
        str(log),
        "--site",
        str(DEMO_FILE),
        "--since",
        "2026-07-13",
        "--ahead",
        "2",
        "--quick",
    ]
    args += ["--calendar", str(ics), "--page", str(page)]
    shown = CliRunner().invoke(cli, args)
    assert shown.exit_code == 0, shown.output
    document = json.loads(CliRunner().invoke(cli, [*args[:-4], "--json"]).stdout)["coming"]
    given_m3 = sum(n.given_ml or 0 for n in nights_of(read_log(demo_week().log)).nights) * 1e-6
    assert document["season"]["taken_m3"] == pytest.approx(given_m3, abs=1e-3)
    for sentence in document["sentences"]:
        assert sentence in " ".join(shown.stdout.split())
        assert sentence in page.read_text(encoding="utf-8")
    first = document["nights"][0]
    found = Calendar.from_ical(ics.read_bytes())
    home = next(e for e in found.walk("VEVENT") if "Battery" in e["SUMMARY"])
    assert home.decoded("DTSTART").date().isoformat() == first["night_of"]
    assert first["battery_home"]["away"] == "08:30"
    assert len(found.walk("VEVENT")) == 3


@pytest.mark.parametrize(
    ("args", "text"),
    [
        (("size", "--calendar", "plan.txt"), "ends neither in .ics nor in .html"),
        (("size", "--calendar", "no/such/plan.ics"), "no such folder"),
        (("size", "--from", "soon"), "--from 2026-07-09"),
        (("report", "LOG", "--calendar", "plan.ics"), "add --site FILE"),
    ],
)
def test_what_cannot_be_written_is_refused(
    args: tuple[str, ...], text: str, tmp_path: Path
) -> None:
    log = tmp_path / "log"
    log.write_text("", encoding="ascii")
    given = [str(log) if arg == "LOG" else arg for arg in args]
    result = CliRunner().invoke(cli, given, prog_name="rillkeeper")
    assert result.exit_code == 2
    assert text in result.stderr
