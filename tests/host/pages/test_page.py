"""The report page, as text and as a browser has it."""

import re
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest

from keeper.hand import CLEAR
from rillkeeper.board.proof.outcome import Outcome
from rillkeeper.board.proof.records import Proof
from rillkeeper.display_units import Shown
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.report.spans import event_spans, lockout_of, night_spans
from rillkeeper.morning.report.troubles import troubles_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.pages.course import charge_of, course_of
from rillkeeper.pages.plan import spread_of
from rillkeeper.pages.report import html_of, write
from rillsim.site import Site
from tests.host.morning.sample_week import demo_report, demo_week
from tests.host.pages.browser import Page, open_page
from tests.host.pages.every_page import month, month_log
from tests.host.runlog.sample_log import sample

A4_PT = (595, 842)
PAGES_MAX = 9


@pytest.fixture(scope="module")
def week() -> Report:
    return demo_report()


@pytest.fixture(scope="module")
def log_alone() -> Report:
    """The same week as a board in a garden would hand it over, with a torn line and a hole."""
    lines = list(demo_week().log)
    lines[40] = lines[40][:25]
    del lines[60:63]
    return report_of(lines)


@pytest.fixture(scope="module")
def opened(need: Callable[[str], Path], tmp_path_factory: pytest.TempPathFactory) -> object:
    program = need("chromium")

    def open_report(report: Report, screen_px: tuple[int, int] = (1200, 900)) -> Page:
        file = tmp_path_factory.mktemp("page") / "week.html"
        write(report, file)
        return open_page(program, file, screen_px)

    return open_report


Open = Callable[..., Page]


@pytest.fixture(scope="module")
def week_page(week: Report, opened: Open) -> Page:
    return opened(week)


def test_the_page_asks_for_nothing_and_is_the_same_twice(week: Report) -> None:
    html = html_of(week)
    assert html == html_of(week)
    assert "http:" not in html
    assert "https:" not in html
    assert "<script" not in html
    asked = re.findall(r'(?:src|href|data)="([^"]*)"', html) + re.findall(r"url\(([^)]*)\)", html)
    assert {address for address in asked if not address.startswith(("#", "data:"))} == set()


def test_ids_are_there_once_and_every_reference_hits(week: Report) -> None:
    html = html_of(week)
    ids = re.findall(r' id="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    used = re.findall(r'href="#([^"]+)"', html) + re.findall(r"url\(#([^)]+)\)", html)
    assert used
    assert set(used) <= set(ids)


def test_names_are_shown_and_not_run() -> None:
    named = replace(Site(), name='<img src=x onerror="alert(1)"> & sons')
    html = html_of(report_of(sample().lines, named))
    assert "<img" not in html
    assert "&lt;img src=x" in html


def test_a_log_alone_says_what_it_cannot_tell(log_alone: Report) -> None:
    html = html_of(log_alone)
    assert "Where the water fell, and what the soil lacks, is not known" in html
    assert "The plot from above" not in html
    assert "what the soil lacks, is not known" in html
    assert "Soil water is not in a log." in html
    # The strip and the traces, each for a wide and for a narrow screen; a picture a night.
    assert html.count("<svg") == 4 + sum(bool(night.runs) for night in log_alone.nights)


def test_the_last_proof_names_what_did_not_pass(log_alone: Report) -> None:
    proof = Proof(
        1, "b1", "2026-07-09T10:00:00", "2026-07-09T11:00:00", "0.1", "A1", "B2", "<Ada>"
    )
    proof.outcomes = [
        Outcome("dry", "dry_run", "passed", measured=2000, limit=2500),
        Outcome("sag", "sag", "failed", "it ran on"),
        Outcome("rain", "", "passed"),
    ]
    html = html_of(log_alone, [proof])
    part = html[html.index("The last proof of the protections") :]
    part = part[: part.index("</section>")]
    assert "Not proved, 1 step failed, walked 2026-07-09 11:00:00 by &lt;Ada&gt;" in part
    assert "2 rules: 1 passed, 1 failed." in part
    assert "sag (it ran on)" in part
    assert "dry_run" not in part
    assert "The last proof" not in html_of(log_alone)


def test_gaps_and_damage_are_stated(log_alone: Report) -> None:
    html = html_of(log_alone)
    assert "41 (torn or damaged)" in html
    assert "1 record is missing between" in html
    assert "3 records are missing between" in html


def test_an_empty_log_makes_a_page() -> None:
    html = html_of(report_of([]))
    assert "No set was due in this log; " in html
    assert "the log is empty." in html
    assert "<svg" not in html


def test_a_page_in_us_units() -> None:
    html = html_of(replace(demo_report(), shown=Shown("us")))
    assert "outlet, psi" in html
    assert "lacks, in," in html
    assert ", bar<" not in html
    assert "north, ft" in html


def test_log_and_trace_tell_the_same_pressure_and_volts(week: Report) -> None:
    """Two ways to the same picture: the board's minute means against the plant's own course."""
    real, logged = course_of(week), course_of(replace(week, trace=None))
    at_s = week.nights[0].runs[0].minutes[10].entry.since_noon_s - 30.0
    for name, tolerance in (("pressure_pa", 4000.0), ("battery_v", 0.06)):
        expected = np.interp(at_s, real.t_s, getattr(real, name))
        found = np.interp(at_s, logged.t_s, getattr(logged, name))
        assert found == pytest.approx(expected, abs=tolerance)


def test_charge_jumps_up_only_where_the_battery_came_back(week: Report) -> None:
    t_s, charge_ah = charge_of(week)
    ups = np.flatnonzero(np.diff(charge_ah) > 0.0) + 1
    charged = [e.t_s for e in week.events if e.told.short == "battery charged"]
    assert list(t_s[ups]) == charged


def test_the_spread_adds_up(week: Report) -> None:
    spread = spread_of(week)
    assert spread is not None
    assert spread.mean_mm == pytest.approx(sum(night.plot_mm for night in week.truth))
    assert spread.driest_mm < spread.mean_mm
    assert 0.0 < spread.du < spread.cu < 100.0
    assert 0.0 < spread.landed < 1.0


@pytest.mark.browser
def test_demonstration_week_in_a_browser(week: Report, week_page: Page) -> None:
    page = week_page
    assert page.errors == []
    assert page.requests == []
    assert not page.wider_than_screen
    assert page.title.startswith(week.name)
    assert verdict_of(week).sentence in page.text
    words = [picture.words for picture in page.pictures]
    begins = ("The nights, wanted", "The plot from above, night", "The plot from above, ")
    for text, begin in zip(words, (*begins, "The course of"), strict=False):
        assert text.startswith(begin)
    assert len(words) == 4 + sum(bool(night.runs) for night in week.nights)
    assert all(p.loaded and p.width > 300 and p.height > 100 for p in page.pictures)
    for night in week.nights:
        assert week.happened(night) in page.text
    for event in week.events:
        assert event.told.seen in page.text
    assert "CU (Christiansen)" in page.text
    assert "hydrogen" in page.text


@pytest.mark.browser
def test_it_prints_on_a4(week_page: Page) -> None:
    pdf = week_page.pdf
    sheets = len(re.findall(rb"/Type\s*/Page\b", pdf))
    assert 3 <= sheets <= PAGES_MAX
    boxes = re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert boxes
    for box in boxes:
        assert tuple(float(side) for side in box) == pytest.approx(A4_PT, abs=1.0)


@pytest.mark.browser
def test_it_fits_a_telephone(week: Report, opened: Open) -> None:
    assert not opened(week, (390, 800)).wider_than_screen


@pytest.mark.browser
def test_log_alone_in_a_browser(log_alone: Report, opened: Open) -> None:
    page = opened(log_alone)
    assert page.errors == []
    assert page.requests == []
    assert len(page.pictures) == 2 + sum(bool(night.runs) for night in log_alone.nights)
    assert "missing between" in page.text


def test_what_the_pictures_say(week: Report) -> None:
    """Their words tell what is to be seen, with the figures of the table."""
    html = html_of(week)
    words = unescape(" ".join(re.findall(r'aria-label="([^"]*)"', html)))
    assert "Sun 12 Jul: left out, rain" in words or "Sun 12 Jul: left out: rain" in words
    assert "of rain" in words
    assert "The battery came back charged before the night of Mon 13 Jul." in words
    assert "Fri 10 Jul 1.9 mm, least in the " in words
    lowest_mv = min(night.battery_mv for night in week.nights if night.battery_mv)
    assert f"battery down to {lowest_mv / 1000:.2f} V while pumping" in words


@pytest.fixture(scope="module")
def thirty() -> Report:
    return month()


def test_thirty_nights_are_put_together(thirty: Report) -> None:
    """Four nights, a lockout, and 25 nights that nobody came: by hand, see `every_page.month`."""
    assert [span.days for span in night_spans(thirty)] == [
        *("Mon 1 Jun", "Tue 2 Jun", "Wed 3 Jun", "Thu 4 Jun", "Fri 5 Jun"),
        "Sat 6 Jun to Tue 30 Jun",
    ]
    assert thirty.happened(thirty.nights[-1]) == "missed, locked out"
    html = html_of(thirty)
    assert "Nights 6 to 30: Sat 6 Jun to Tue 30 Jun" in html
    assert "The 30 nights at a glance" in html
    assert "Locked out since Fri 5 Jun 22:00: pump ran dry." in html[: html.index("<main>")]
    names = [one.name for one in troubles_of(thirty).open]
    assert names[0] == "pump ran dry"
    assert not any("missed" in name for name in names), "it follows from what locked out"
    events = event_spans(thirty.events)
    assert [(one.numbers, one.when) for one in events][-1] == (
        "4-28",
        "Sat 6 Jun 22:00 to Tue 30 Jun 22:00",
    )
    assert html.count('class="mark') == len(events) + sum(
        one.night <= thirty.nights[4].day for one in thirty.events
    )


def test_who_clears_a_lockout_ends_it(thirty: Report) -> None:
    """By the button or a command; a start of the pump says the same."""
    log = month_log()
    assert lockout_of(report_of(log.lines))
    log.add("30 18:00:00", "hand", CLEAR, 0)
    assert not lockout_of(report_of(log.lines))


def test_nights_with_a_run_are_never_put_together(week: Report) -> None:
    assert len(night_spans(week)) == len(week.nights)
