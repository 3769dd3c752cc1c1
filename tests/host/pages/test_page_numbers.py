"""The numbers on the page, read in a browser, for a log written by hand; and its CSV, strictly.

The log is `sample_log.sample`: its figures are round, so that every number below can be had with
a pencil. 20 min at 16 L/min are 320 L; 5.5 min are 88 L; over 100 m2 a litre is 0.01 mm. The soil
is full at first: crop and wet ground use 1.2 of the reference (lettuce, FAO-56 eq. 72). The driest
quarter of the plot gets two thirds of the mean.
"""

import csv
import io
import re
from dataclasses import replace
from pathlib import Path

import pytest

from rillkeeper.morning.report import csv_table, json_document
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.weather import balance_of, read_text
from rillkeeper.pages.report import html_of, write
from rillkeeper.site.file import demo_site
from tests.host.inquiry.learn_cases import night_log, thought
from tests.host.pages.browser import open_page
from tests.host.runlog.sample_log import Writer, sample

NIGHTS = [
    # Night of, set, min, L, plot mm, used mm, soil lacks mm, driest quarter mm, bar, V, Ah, nights
    (
        "Mon 1 Jun",
        "20 min",
        "20",
        "320",
        "3.2",
        "4.8",
        "1.6",
        "2.7",
        "1.50",
        "11.98",
        "4.1",
        "5.8",
    ),
    ("Tue 2 Jun", "20 min", "6", "88", "0.9", "3.6", "2.8", "4.2", "1.50", "11.90", "1.2", "5.5"),
    ("Wed 3 Jun", "20 min", "0", "0", "0.0", "2.4", "0.0", "0.0", "-", "-", "0.1", "0.8"),
]
WEATHER = "date,et0 mm,rain mm\n2026-06-01,4.0,0\n2026-06-02,3.0,1.5\n2026-06-03,2.0,15\n"


@pytest.fixture(scope="module")
def report() -> Report:
    full = replace(demo_site().plot, deficit_mm=0.0)
    site = replace(demo_site(), name="Three nights by hand", plot=full)
    made = report_of(sample().lines, site)
    assert made.site is not None
    return replace(made, balance=balance_of(made.site, made.nights, read_text(WEATHER)))


def cells_of(html: str) -> list[list[str]]:
    """The rows of the table of nights, without their tags."""
    table = re.search(r"<h2>The nights</h2>.*?<tbody>(.*?)</tbody>", html, re.DOTALL)
    assert table is not None
    rows = re.findall(r"<tr.*?>(.*?)</tr>", table[1], re.DOTALL)
    cells = [re.findall(r"<t[dh].*?>(.*?)</t[dh]>", row, re.DOTALL) for row in rows]
    return [[re.sub(r"<.*?>", "", cell) for cell in row] for row in cells]


def test_the_table_of_nights(report: Report) -> None:
    rows = cells_of(html_of(report))
    assert [tuple(row[:-1]) for row in rows] == NIGHTS
    assert [row[-1] for row in rows] == [
        "all given",
        "28 % given; line shut 22:05",
        "left out: rain",
    ]


def test_given_rain_and_use_add_up(report: Report) -> None:
    """3.2 + 0.88 mm given, 16.5 mm of rain, 4.8 + 3.6 + 2.4 mm used: 9.8 mm more than was used."""
    assert report.balance is not None
    assert report.balance.days[-1].surplus_mm == pytest.approx(4.08 + 16.5 - 10.8)
    assert (
        "In 3 days crop and ground used 10.8 mm; 4.1 mm were given and 16.5 mm of rain fell."
        in html_of(report)
    )


@pytest.mark.browser
def test_the_page_as_a_browser_has_it(report: Report, need: "object", tmp_path: Path) -> None:
    file = tmp_path / "nights.html"
    write(report, file)
    page = open_page(need("chromium"), file)  # type: ignore[operator]
    assert page.errors == []
    assert page.requests == []
    assert not page.wider_than_screen
    for row in NIGHTS:
        assert "\t".join(row) in page.text, row
    words = [picture.words for picture in page.pictures]
    assert any(text.startswith("Water given against water used") for text in words)
    assert all(picture.loaded for picture in page.pictures)
    assert page.pdf.startswith(b"%PDF")


@pytest.mark.browser
def test_what_was_learned_as_a_browser_has_it(need: "object", tmp_path: Path) -> None:
    from rillkeeper.inquiry.learn import learn
    from rillkeeper.inquiry.learn.overlay import Source
    from rillkeeper.pages.learn import write as write_learned

    file = tmp_path / "learned.html"
    write_learned(learn(thought(), night_log(1)), Source("board 01ab", ""), file)
    opened = open_page(need("chromium"), file)  # type: ignore[operator]
    assert opened.errors == []
    assert opened.requests == []
    assert not opened.wider_than_screen
    assert "not told by these sensors" in opened.text
    assert len(opened.pictures) == 2


def test_the_csv_by_the_letter_of_rfc_4180(report: Report) -> None:
    """CRLF after every record, the same fields in each, a unit in every heading that has one."""
    text = csv_table.text_of(report)
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert len(rows) == 1 + len(report.nights)
    assert {len(row) for row in rows} == {len(rows[0])}
    plain = {"night_of", "set", "nights_left", "stops_and_warnings", "what_happened"}
    for heading in rows[0]:
        assert heading in plain or re.fullmatch(r"[a-z_]+ \[[^\]]+\]", heading)
    columns = dict(zip(rows[0], rows[1], strict=True))
    assert columns["water [L]"] == "320.0"
    assert columns["crop_use [mm]"] == "4.80"
    assert columns["soil_deficit [mm]"] == "1.60"
    assert columns["soil_deficit_driest_quarter [mm]"] == "2.66"
    assert columns["night_of"] == "2026-06-01"


def test_json_has_the_band_and_the_balance(report: Report) -> None:
    document = json_document.document(report)
    assert document["nights_left"]["low"] <= document["nights_left"]["middle"]
    assert document["nights"][0]["crop_use_mm"] == 4.8
    assert document["nights"][0]["reference_et_by"] == "as given"
    assert document["nights"][2]["water_surplus_mm"] == pytest.approx(9.78)


def test_a_clock_lost_for_two_nights_loses_nothing() -> None:
    """The board has no time from the second afternoon on; a person waters with the button."""
    log = Writer()
    log.add("0 22:00:00", "set", 1, 1, 20, 1, 1200)
    run(log, 0, 22)
    log.add("0 22:20:04", "given", 1, 0, 1200, 320000, 3200)
    log.add("1 12:00:00", "night", 1202, 320000, 4100, 25900, 58, 12550)
    log.add("-20605 00:00:00", "clock", 1, 0, trusted=False)
    for hour in (3, 27):
        run(log, -20605 + hour // 24, hour % 24, trusted=False)
    log.add("3 18:00:00", "clock", 0, 0)
    log.add("3 22:00:00", "set", 1, 1, 20, 1, 1200)
    run(log, 3, 22)
    log.add("3 22:20:04", "given", 1, 0, 1200, 320000, 3200)
    report = report_of(log.lines)
    assert report.log.whole
    assert sum(len(night.runs) for night in report.nights) == 4
    assert sum(run.given_ml for night in report.nights for run in night.runs) == 4 * 320000
    told = [event.told.short for event in report.events]
    assert "clock is not set" in told
    # By the time that the lost clock counts: the afternoons of the second and the third day.
    assert [night.run_s for night in report.nights] == [1202, 1202, 1202, 1202]
    assert "clock is not set" in report.happened(report.nights[1])
    assert "Tue 2 Jun, no clock" in html_of(report)


def run(log: Writer, day: int, hour: int, trusted: bool = True) -> None:
    """Twenty minutes of pumping."""
    log.add(f"{day} {hour:02d}:00:02", "start", 1, 1, 12600, 30000, 150, 11000, trusted=trusted)
    log.add(f"{day} {hour:02d}:00:04", "primed", 2000, 150000, 12000, trusted=trusted)
    log.add(
        f"{day} {hour:02d}:20:04", "stop", 0, 1202, 150000, 11980, 4000, 320000, trusted=trusted
    )
