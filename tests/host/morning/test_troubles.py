"""One diagnosis: what board, `why` and figures tell of the same log, in one list, worst first."""

import csv
import io
from dataclasses import replace

import pytest

from keeper.rules import number_of
from rillkeeper.display_units import date_of
from rillkeeper.inquiry.why.failure_modes import strainer
from rillkeeper.inquiry.why.found import Found, FoundTrouble
from rillkeeper.morning.report.csv_table import troubles_text_of
from rillkeeper.morning.report.json_document import document
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.report.troubles import FIGURES, WHY, troubles_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.runlog import sentences
from rillkeeper.site.file import demo_site
from rillkeeper.verdict import ACT, GOOD, LOOK
from tests.host.morning.sample_week import demo_report
from tests.host.runlog.sample_log import FIRST_DAY, Writer, sample

NOTHING = Found("Nothing is wrong (98 %).", (), judged=True)


def trouble(
    *names: str, kind: str, night: int, rules: tuple[str, ...] = (), is_open: bool = True
) -> FoundTrouble:
    """As `why` would have it."""
    since = f"since night {night}"
    day = FIRST_DAY + night
    return FoundTrouble(
        names, (kind,), since, day, is_open, f"Most likely: {names[0]}.", "bad", "Look.", rules
    )


def nights(*pressures_pa: int, mohm: int = 40, last_mohm: int = 40) -> Writer:
    """A whole set of ten minutes a night, at these pressures."""
    log = Writer()
    for day, pressure_pa in enumerate(pressures_pa):
        last = day == len(pressures_pa) - 1
        log.add(f"{day} 22:00:00", "set", 1, 1, 10, 1, 600)
        log.add(f"{day} 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
        log.add(f"{day} 22:00:04", "primed", 1500, pressure_pa, 12000)
        resistance = last_mohm if last else mohm
        log.add(f"{day} 22:00:09", "learned", resistance, 12640, 12160, 12000, pressure_pa)
        for minute in range(1, 10):
            when = f"{day} 22:{minute:02d}:02"
            log.add(when, "minute", pressure_pa + minute, 12000 - minute, 12000, 16000, 29000)
        log.add(f"{day} 22:10:04", "stop", 0, 602, pressure_pa, 11980, 2000, 160000)
        log.add(f"{day} 22:10:04", "given", 1, 0, 600, 160000, 1600)
    return log


def asked(report: Report, *troubles: FoundTrouble) -> Report:
    return replace(report, found=Found("Most likely.", troubles, judged=True))


def test_every_trouble_goes_to_a_spreadsheet_worst_first() -> None:
    report = report_of(sample().lines)
    report = asked(
        report,
        trouble("shut tap", "kinked hose", kind="water", night=1, rules=("dead head",)),
        trouble("=HYPERLINK(1)", kind="supply", night=0),
        trouble("foot valve", kind="water", night=0, is_open=False),
    )
    text = troubles_text_of(report)
    assert text.count("\r\n") == text.count("\n") > 3
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    told = troubles_of(report)
    assert [row["what"].lstrip("'") for row in rows] == [
        *(one.name for one in told.open),
        *told.over,
    ]
    shut = rows[0]
    assert (shut["place"], shut["state"]) == ("1", "stops the watering")
    assert shut["cause_named_by_why"] == "shut tap or kinked hose"
    assert shut["since_night_of"] == date_of(FIRST_DAY + 1).isoformat()
    assert (shut["how_bad"], shut["what_to_do"]) == ("bad", "Look.")
    assert shut["told_by"] == "why, the board"
    assert any(row["what"] == "'=HYPERLINK(1)" for row in rows), "no spreadsheet runs it"
    assert rows[-1]["state"] == "over, as it seems"


def test_a_strainer_that_clogs_over_days_says_what_is_felt() -> None:
    """The catalogue's words at the severity that `why` has found, in verdict and list."""
    site = demo_site()
    felt = strainer(0.85, site)
    assert felt == "85 % of the strainer blocked: 8 % less water"
    slow = replace(trouble("strainer blocking", kind="water", night=0), how_bad=felt)
    answer = verdict_of(asked(report_of(nights(150000, 150000).lines), slow))["trouble"]
    assert answer.detail == f"{felt}. Look."


def test_nothing_is_wrong_only_when_why_says_so() -> None:
    report = report_of(nights(150000, 150000, 150000).lines)
    assert "Nothing is wrong" not in verdict_of(report)["trouble"].sentence
    answer = verdict_of(replace(report, found=NOTHING))["trouble"]
    assert (answer.state, answer.sentence) == (GOOD, "Nothing is wrong now.")


@pytest.mark.parametrize(
    ("log", "words"),
    [
        (
            nights(150000, 150000, 99000),
            "Check this: pressure 0.99 bar, 34 % under the usual 1.50 bar, since the night of "
            "Wed 3 Jun.",
        ),
        (
            nights(150000, 150000, 150000, 200000, 200000),
            "Check this: pressure 2.00 bar, 33 % over the usual 1.50 bar, since the night of "
            "Thu 4 Jun.",
        ),
        (
            nights(150000, 150000, 150000, mohm=35, last_mohm=68),
            # 68 and 35 mohm at 12 A.
            "Check this: battery, clamps and cable take 0.82 V while the pump runs, usual are "
            "0.42 V, since the night of Wed 3 Jun.",
        ),
    ],
    ids=["worn nozzle", "blocked nozzle", "clamp"],
)
def test_a_figure_that_is_far_off_is_told_whatever_why_says(log: Writer, words: str) -> None:
    for found in (None, NOTHING):
        answer = verdict_of(replace(report_of(log.lines), found=found))["trouble"]
        assert (answer.state, answer.sentence) == (LOOK, words)
    (told,) = troubles_of(report_of(log.lines)).open
    assert told.told_by == (FIGURES,)


def test_a_figure_says_nothing_beside_the_trouble_that_explains_it() -> None:
    report = report_of(nights(150000, 150000, 99000).lines)
    worn = trouble("nozzle worn or gone", kind="water", night=2)
    (told,) = troubles_of(asked(report, worn)).open
    assert told.sentence == "nozzle worn or gone, since night 2"


def test_a_stop_and_its_cause_are_one_trouble() -> None:
    """The sample's second night: the line was shut, and has not primed since."""
    report = report_of(sample().lines)
    blocked = trouble("sprinkler blocked", kind="water", night=1, rules=("dead head",))
    clamp = trouble("cable or clamp resistance", kind="supply", night=0)
    found = troubles_of(asked(report, clamp, blocked)).open
    assert [one.sentence for one in found] == [
        "sprinkler blocked (the board says: line shut), since night 1",
        "cable or clamp resistance, since night 0",
    ], "what stops the pump comes first"
    assert [one.state for one in found] == [ACT, LOOK]
    verdict = verdict_of(asked(report, clamp, blocked))["trouble"]
    assert verdict.short == "Yes: sprinkler blocked (the board says: line shut), and 1 more thing"
    alone = troubles_of(asked(report, clamp)).open
    assert [one.name for one in alone] == ["line shut", "cable or clamp resistance"]


def test_what_is_over_is_said_as_over() -> None:
    log = sample()
    for line in nights(150000).lines:
        log.add("3 " + line.split(" ")[2], *_numbers(line))
    was = trouble("hose kinked or crushed", kind="water", night=1, is_open=False)
    found = troubles_of(asked(report_of(log.lines), was))
    assert found.open == ()
    assert found.over == ("hose kinked or crushed, since night 1", "line shut, Tue 2 Jun 22:10")


def _numbers(line: str) -> tuple[str, *tuple[int, ...]]:
    words = line.split(" ")
    return words[4], *(int(word.split("=")[1]) for word in words[5:-1])


def test_a_warning_of_each_night_is_told_once_with_its_first() -> None:
    log = Writer()
    for day in range(3):
        log.add(f"{day} 22:00:02", "start", 1, 1, 12640, 30000, 150, 10000)
        log.add(f"{day} 22:00:04", "primed", 1500, 150000, 12000)
        log.add(f"{day} 22:00:10", "warn", 9, 67, 60)
        log.add(f"{day} 22:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000)
    (told,) = troubles_of(report_of(log.lines)).open
    assert told.sentence == "battery, clamps or cable getting weak, since Mon 1 Jun 22:00"


def test_a_lost_clock_is_a_trouble_until_it_is_good_and_its_records_find_their_nights() -> None:
    log = nights(150000)
    log.add("-900 00:00:00", "boot", 1, 1, 1, 29000, trusted=False)
    log.add("-900 00:00:00", "clock", 1, 0, trusted=False)
    log.add("-900 16:00:00", "hand", 2, 5, trusted=False)
    log.add("-899 17:00:00", "hand", 2, 5, trusted=False)
    report = report_of(log.lines)
    answer = verdict_of(report)["trouble"]
    assert answer.sentence.startswith("Check this: clock is not set, since ")
    assert all(night.known for night in report.nights), "no night is taken for a silent one"
    last = [event for event in report.events if event.told.short == "by hand"]
    assert [event.when for event in last] == ["Tue 2 Jun, no clock", "Wed 3 Jun, no clock"]
    assert "2 records of the log have no date" in verdict_of(report)["water"].detail
    log.add("3 12:30:00", "clock", 0, 0)
    assert verdict_of(report_of(log.lines))["trouble"].state == GOOD


def test_a_board_that_wrote_nothing_is_told_since_when() -> None:
    report = demo_report()
    silent = [replace(night, entries=(), closing=None, runs=()) for night in report.nights[-2:]]
    made = replace(report, nights=(*report.nights[:-2], *silent), events=())
    answer = verdict_of(made)["trouble"]
    assert answer.sentence.startswith(
        "Something is wrong: the board wrote nothing, since the night of Tue 14 Jul; "
    )
    assert (
        "take 0.82 V while the pump runs, usual are 0.41 V, since the night of" in answer.sentence
    )


def still_pressure(nights: int) -> Writer:
    """A board without a transducer writes what it takes for usual."""
    log = Writer()
    for day in range(nights):
        log.add(f"{day} 22:00:00", "set", 1, 1, 10, 1, 600)
        log.add(f"{day} 22:00:02", "start", 1, 1, 12640, 30000, 150, 0)
        log.add(f"{day} 22:01:15", "primed", 73000, 142323, 12000)
        for minute in range(2, 10):
            when = f"{day} 22:{minute:02d}:02"
            log.add(when, "minute", 142323, 12000 - minute, 12000, 16000, 29000)
        log.add(f"{day} 22:10:04", "stop", 0, 602, 142323, 11980, 2000, 160000)
        log.add(f"{day} 22:10:04", "given", 1, 0, 600, 160000, 1600)
    return log


def test_without_a_pressure_sensor_nobody_says_that_water_came() -> None:
    report = report_of(still_pressure(2).lines)
    assert not report.fitted.pressure, "the board wrote what it takes for usual"
    assert report.nights[0].pressure_pa is None
    water = verdict_of(report)["water"]
    assert water.sentence == (
        "The pump ran its full time (no sensor tells whether water came) on all of 2 nights."
    )
    assert water.state == LOOK
    assert water.detail.startswith("By the clock that should be 320 L in all.")
    assert any(note.startswith("No pressure sensor: ") for note in report.notes)


METERED = replace(
    demo_site(), board=replace(demo_site().board, pressure_fitted=False, flow_fitted=True)
)


def test_with_a_flow_meter_the_litres_are_measured() -> None:
    report = report_of(still_pressure(2).lines, METERED)
    (run, _) = [run for night in report.nights for run in night.runs]
    assert (run.prime_ms, run.stop.given_ml if run.stop else 0) == (73000, 160000)
    assert run.minutes[0].flow_ml_min == 16000
    water = verdict_of(report)["water"]
    assert water.sentence == "The garden got its full water on all of 2 nights."
    assert water.detail.startswith("320 L in all, by the flow meter.")
    assert not report.notes
    assert document(report)["litres_by"] == "flow meter"
    told = [
        sentences.tell(entry, report.shown, report.fitted).seen for entry in report.log.entries
    ]
    assert told[2] == "The pump has drawn water: the flow meter turns after 73 s."
    assert "16.0 L/min" in told[3]
    assert told[-2] == "The run ends after 10 min and 160 L."


def test_where_a_meter_alone_tells_of_water_a_shut_line_is_looked_for_first() -> None:
    """Behind a shut tap its wheel stands as still as at a dry pump."""
    log = still_pressure(1)
    log.add("1 22:00:02", "start", 1, 1, 12640, 30000, 150, 0)
    log.add("1 22:01:15", "trip", number_of("no prime"), 73000, 73000, 0, 7, 1)
    both = replace(METERED, board=replace(METERED.board, pressure_fitted=True))
    for site, first in ((METERED, "Is every tap"), (both, "Is the strainer")):
        told = report_of(log.lines, site).events[-1].told
        assert told.look.startswith(first), told
        assert ("meter did not turn 73 s after" in told.seen) == (site is METERED)


def test_litres_of_a_meter_that_stood_still_are_not_said_to_be_measured() -> None:
    log = still_pressure(1)
    log.add("1 22:00:00", "set", 1, 1, 10, 1, 600)
    log.add("1 22:00:02", "start", 1, 1, 12640, 30000, 150, 0)
    log.add("1 22:00:15", "primed", 13000, 142000, 12000)
    log.add("1 22:00:21", "warn", number_of("bad meter"), 1, 0)
    log.add("1 22:10:04", "stop", 0, 602, 142000, 11980, 2000, 160000)
    both = replace(METERED, board=replace(METERED.board, pressure_fitted=True))
    report = report_of(log.lines, both)
    assert verdict_of(report)["water"].detail.startswith("320 L in all.")
    assert document(report)["litres_by"] == "pressure"
    assert report.notes[0].startswith("The flow meter stood still (Tue 2 Jun): ")


def test_what_why_found_comes_back_from_its_text() -> None:
    one = trouble("pump worn", "nozzle worn or gone", kind="water", night=3, rules=("dry run",))
    found = Found("Most likely.", (one,), judged=True)
    assert Found.of_text(found.text()) == found
    assert WHY in troubles_of(asked(report_of(nights(150000).lines), one)).open[0].told_by
    for text in ("", "[]", '{"sentence": "x"}', '{"troubles": [{}], "sentence": "", "judged": 1}'):
        with pytest.raises((ValueError, KeyError, TypeError)):
            Found.of_text(text)
