"""Nights, events and verdict out of a log written by hand, against figures set beforehand."""

import csv
import io
import json
import re
from dataclasses import replace

import pytest
from rich.console import Console

from keeper.lines import date_text
from keeper.records import AT_NOON, COMPLETE
from rillkeeper.morning.report import csv_table, json_document, terminal
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.screen import WIDTH
from rillkeeper.verdict import ACT, GOOD
from rillsim.site import Site
from tests.host.runlog.sample_log import FIRST_DAY, Writer, minutes, sample

LINES = sample().lines


@pytest.fixture(scope="module")
def report() -> Report:
    return report_of(LINES)


def test_nights_go_from_noon_to_noon(report: Report) -> None:
    assert [date_text(night.day) for night in report.nights] == [
        "2026-06-01",
        "2026-06-02",
        "2026-06-03",
    ]


def test_first_night_in_figures(report: Report) -> None:
    night = report.nights[0]
    assert report.planned(night) == "20 min"
    assert (night.run_s, night.given_ml, night.depth_um) == (1202, 320_000, 3200)
    assert night.pressure_pa == 150_000
    assert night.battery_mv == 11_981  # 12000 less 1 mV for each of the 19 minutes after.
    assert (night.used_mah, night.left_mah, night.nights_tenths) == (4100, 25_900, 58)
    assert night.prime_s == 2.0
    assert night.share == 1.0
    assert night.whole


def test_second_night_is_a_quarter(report: Report) -> None:
    night = report.nights[1]
    assert night.share == pytest.approx(330 / 1200)
    assert night.battery_mv == 11_896
    assert report.happened(night) == "28 % given; line shut 22:05"


def test_a_set_left_out_is_known_from_the_nights_before(report: Report) -> None:
    night = report.nights[2]
    assert report.planned(night) == "20 min"
    assert (night.run_s, night.share, night.rained) == (0, 0.0, True)
    assert report.happened(night) == "left out: rain"


def test_events_in_words(report: Report) -> None:
    found = [(event.when, event.told.short) for event in report.events]
    assert found == [
        ("Tue 2 Jun 22:05", "line shut"),
        ("Tue 2 Jun 22:10", "line shut"),
        ("Wed 3 Jun 21:00", "rain"),
        ("Wed 3 Jun 22:00", "left out: rain"),
    ]
    stop = report.events[1].told
    assert stop.seen == "3.00 bar at the pump's outlet, limit 1.90 bar, for 0.6 s."
    assert stop.did == "After 1 more try: stopped for the night; the next night begins as usual."
    assert "tap" in stop.look
    assert report.events[0].t_s == 86400 + 10 * 3600 + 5 * 60 + 34


def test_the_verdict(report: Report) -> None:
    verdict = verdict_of(report)
    assert verdict["water"].sentence == (
        "The garden got its full water on 1 of 3 nights, and rain instead on 1."
    )
    assert verdict["battery"].sentence == "The battery must go home before the next night."
    assert verdict["battery"].state == ACT
    assert verdict["trouble"].sentence == ("Something is wrong: line shut, since Tue 2 Jun 22:05.")
    assert verdict.sentence.count(";") == 2


def test_a_stop_is_over_when_the_pump_has_primed_again() -> None:
    log = sample()
    log.add("3 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("3 22:00:02", "start", 1, 1, 12640, 24500, 150, 10000)
    log.add("3 22:00:04", "primed", 2000, 150000, 12000)
    log.add("3 22:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000)
    log.add("3 22:20:04", "given", 1, 0, 1200, 320000, 3200)
    log.add("4 12:00:00", "night", 1202, 320000, 4100, 20400, 49, 12550)
    verdict = verdict_of(report_of(log.lines))
    assert verdict["trouble"].state == GOOD
    assert verdict["trouble"].sentence.startswith("The board saw nothing wrong")
    assert verdict["trouble"].detail.startswith("Over, as it seems: line shut, Tue 2 Jun 22:10.")
    # Noon of 5 June, 4.9 nights left: those of 5, 6, 7 and 8 June, so charged before the 9th.
    assert verdict["battery"].sentence.endswith("by the evening of Tue 9 Jun.")


def test_a_run_without_an_end_is_said() -> None:
    log = Writer()
    log.add("0 22:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("0 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
    log.add("0 22:01:02", "minute", 150000, 12000, 12000, 16000, 29800)
    running = report_of(log.lines)
    assert running.nights[0].given_ml == 16_000
    assert running.nights[0].share == pytest.approx(60 / 1200)
    assert [event.told.short for event in running.events] == ["still running"]
    verdict = verdict_of(running)
    assert verdict["water"].sentence == "The pump was running when the log was read."
    assert verdict["trouble"].state == GOOD, "nothing has been lost"
    log.add("0 22:05:00", "boot", 2, 1, 1, 29800)
    cut = report_of(log.lines)
    assert [event.told.short for event in cut.events] == ["records stop", "power lost in a run"]
    assert not cut.nights[0].running


def test_a_restart_in_mid_run_loses_no_minutes() -> None:
    """The board forgets how long it had pumped; the log of the broken run has not."""
    log = Writer()
    log.add("0 22:00:00", "set", 1, 1, 30, 1, 1800)
    log.add("0 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
    minutes(log, 0, 1, 23, 150000, 12000)
    log.add("0 22:24:00", "boot", 2, 1, 1, 29000)
    log.add("0 22:25:02", "start", 1, 1, 12600, 29000, 150, 10000)
    log.add("0 22:37:02", "stop", 0, 720, 150000, 11980, 4000, 192000)
    log.add("1 12:00:00", "night", 720, 592000, 4100, 25900, 58, 12550)
    (night,) = report_of(log.lines).nights
    assert night.run_s == 23 * 60 + 720
    assert night.given_ml == 592_000


def test_battery_away_over_noon_closes_the_right_night() -> None:
    log = Writer()
    log.add("0 22:00:00", "skip", 1, 1, 3)
    log.add("1 17:30:00", "boot", 1, 1, 1, 5000, trusted=False)
    log.add("1 17:30:00", "battery", 12600, 35000, trusted=False)
    log.add("1 17:30:00", "clock", 0, 0)
    log.add("1 17:30:00", "night", 0, 0, 51, 35000, 26, 12600)
    log.add("1 22:00:00", "skip", 1, 1, 2)
    found = report_of(log.lines)
    assert [night.used_mah for night in found.nights] == [51, None]
    assert "battery charged" in [event.told.short for event in found.events_of(found.nights[1])]


@pytest.mark.parametrize(
    ("left_mah", "booted", "another"),
    [(5000, True, False), (4000, True, False), (5900, True, False), (6500, True, True)]
    + [(30000, False, True), (4000, False, False)],
)
def test_a_restart_is_no_battery(left_mah: int, booted: bool, another: bool) -> None:
    """Older firmware wrote such a record at each start; one that comes alone is a battery,
    unless the board has brought its own count down."""
    log = sample()
    if booted:
        log.add("3 13:00:00", "boot", 1, 1, 1, 5000, trusted=False)
    log.add("3 13:00:00", "battery", 12400, left_mah, trusted=False)
    log.add("3 22:00:02", "start", 1, 1, 12400, left_mah, 150, 10000)
    found = report_of(log.lines)
    assert found.nights[-1].battery_put_on is another
    shorts = [event.told.short for event in found.events_of(found.nights[-1])]
    assert ("battery charged" in shorts) is another
    assert ("battery lower" in shorts) is (not booted and not another)
    assert found.nights[-1].runs[-1].battery == (2 if another else 1)


def test_a_night_without_records_is_not_hidden() -> None:
    log = Writer()
    log.add("0 22:00:00", "skip", 1, 1, 3)
    log.add("2 22:00:00", "skip", 1, 1, 3)
    found = report_of(log.lines)
    assert [found.happened(night) for night in found.nights][1] == "no records"
    assert "1 more night nothing is known" in verdict_of(found)["water"].sentence


def test_slow_prime_is_noticed() -> None:
    log = Writer()
    for day, prime_ms in enumerate((1500, 1600, 1500, 7000)):
        log.add(f"{day} 22:00:00", "set", 1, 1, 20, 1, 1200)
        log.add(f"{day} 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
        log.add(f"{day} 22:00:04", "primed", prime_ms, 150000, 12000)
        log.add(f"{day} 22:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000)
    found = report_of(log.lines)
    assert [(e.night - FIRST_DAY, e.told.short) for e in found.events] == [
        (3, "slow to draw water")
    ]
    assert "usually 1.55 s" in found.events[0].told.seen


def test_an_empty_log() -> None:
    found = report_of([])
    assert found.nights == ()
    assert verdict_of(found)["water"].sentence == "No set was due in this log."
    assert "no nights" in _printed(found, 100)


def _printed(found: Report, width: int) -> str:
    console = Console(width=width, force_terminal=False, record=False)
    with console.capture() as capture:
        terminal.show(found, console) if width == WIDTH else console.print(terminal.render(found))
    return capture.get()


def test_table_columns(report: Report) -> None:
    text = _printed(report, WIDTH)
    rows = [
        line.split() for line in text.splitlines() if re.match(r"(Mon|Tue|Wed) \d Jun  ", line)
    ]
    assert rows[0][:12] == "Mon 1 Jun 20 min 20 320 3.2 1.50 11.98 4.1 5.8".split()
    assert rows[2][:12] == "Wed 3 Jun 20 min 0 0 0.0 - - 0.1 0.8".split()
    assert max(map(len, text.splitlines())) <= WIDTH
    assert "\x1b" not in text
    assert "Tue 2 Jun 22:05" in text


def test_table_in_us_units() -> None:
    text = _printed(report_of(LINES, replace(Site(), units="us")), WIDTH)
    assert "85  0.13    21.8" in text  # 320 L, 3.2 mm, 150 kPa.
    assert "gal" in text
    assert "psi" in text
    assert " bar" not in text


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_width_loses_a_figure_or_a_sentence(report: Report, width: int) -> None:
    """What has no room beside the others stands in a line of its own."""
    text = _printed(report, width)
    assert max(map(len, text.splitlines())) <= width
    words = " ".join(text.split())
    for part in ("28 % given; line shut 22:05", "320", "11.98", "5.8", "left out: rain"):
        assert part in words
    assert "line shut: 2.90 bar" in words


def test_damage_is_said_in_the_table() -> None:
    text = _printed(report_of([line for n, line in enumerate(LINES) if n != 12] + ["?"]), 100)
    assert "1 record is missing between" in text
    assert "1 line could not be read" in text


def test_csv_reads_back(report: Report) -> None:
    text = csv_table.text_of(report)
    assert text.count("\r\n") == text.count("\n") == 4
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert rows[0]["night_of"] == "2026-06-01"
    assert float(rows[0]["water [L]"]) == 320.0
    assert float(rows[0]["pressure [bar]"]) == 1.5
    assert float(rows[0]["volts_under_load [V]"]) == 11.981
    assert float(rows[0]["charge_used [Ah]"]) == 4.1
    assert rows[2]["pressure [bar]"] == ""
    assert rows[1]["what_happened"] == "28 % given; line shut 22:05"
    assert rows[1]["stops_and_warnings"] == "2"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@cell", "\t=1", "\r=1"])
def test_cells_that_a_spreadsheet_would_run_are_defused(text: str) -> None:
    """OWASP, CSV injection: these are the starts that it lists."""
    assert csv_table.defused(text) == "'" + text


def test_json_is_one_sorted_document_with_units(report: Report) -> None:
    text = json_document.text_of(report)
    document = json.loads(text)
    assert document["schema"] == json_document.SCHEMA
    assert text == json.dumps(document, sort_keys=True, indent=2)
    assert document["nights"][0]["given_l"] == 320.0
    assert document["nights"][0]["pressure_pa"] == 150_000
    assert document["nights"][2]["pressure_pa"] is None
    assert document["log"] == {
        "records": len(LINES),
        "missing": 0,
        "duplicates": 0,
        "gaps": [],
        "damaged_lines": [],
    }
    assert [event["level"] for event in document["events"]] == ["warning", "stop", "note", "note"]


def test_a_set_that_noon_cuts_belongs_to_its_own_night() -> None:
    """It is written when the next night has begun, and says that half of it was given."""
    log = Writer()
    log.add("1 11:00:00", "set", 1, 1, 20, 2, 1200)
    log.add("1 11:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
    log.add("1 11:00:04", "primed", 2000, 150000, 12000)
    log.add("1 11:10:04", "stop", 0, 602, 150000, 11980, 2000, 160000)
    log.add("1 12:00:00", "night", 602, 160000, 2000, 28000, 50, 12550)
    log.add("1 12:00:00", "given", 1, AT_NOON, 600, 160000, 1600)
    log.add("2 11:00:00", "set", 1, 1, 20, 1, 1200)
    log.add("2 11:00:02", "start", 1, 1, 12640, 28000, 150, 10000)
    log.add("2 11:20:04", "stop", 0, 1202, 150000, 11980, 2000, 320000)
    log.add("2 11:20:04", "given", 1, COMPLETE, 1200, 320000, 3200)
    cut = report_of(log.lines)
    first, second = cut.nights
    assert (first.share, first.depth_um) == (0.5, 1600)
    assert (second.share, second.depth_um) == (1.0, 3200)
    assert cut.happened(first) == "50 % given; cut by noon"
    assert cut.happened(second) == "all given"
    (event,) = cut.events
    assert "gave 160 L" in event.told.seen
    assert event.told.look.startswith("Let the set begin earlier")
