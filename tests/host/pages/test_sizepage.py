"""The page of a sizing, as text and as a browser has it."""

import re
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner

from rillkeeper.cli import cli
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.curves import curves_of
from rillkeeper.design.size.tables import tables_of
from rillkeeper.design.size.what_if import Axis, vary
from rillkeeper.design.size.what_if_tables import variation_tables
from rillkeeper.design.size.workings import Workings, work_out
from rillkeeper.pages.size import Extra, html_of
from rillkeeper.site.file import demo_site
from rillsim.site import Site
from tests.host.pages.browser import open_page

DEMO = demo_site()


@pytest.fixture(scope="module")
def work() -> Workings:
    return work_out(DEMO)


def varied(site: Site, *axes: Axis) -> Extra:
    found = vary(site, axes)
    return Extra(tuple(variation_tables(found, site)), found, "It works in 90 % of 200 draws.")


def test_page_tells_what_the_terminal_tells(work: Workings) -> None:
    html = html_of(work)
    text = unescape(re.sub(r"<[^>]+>", " ", html))
    assert work.verdict.sentence in html
    for answer in work.verdict.answers:
        assert answer.question in text
    for sheet in tables_of(work):
        assert sheet.title in html
        for row in sheet.rows:
            assert row[0] in text


def test_page_asks_for_nothing(work: Workings) -> None:
    html = html_of(work)
    assert not re.search(r'(src|href)="(?!#|data:)', html)
    assert "<script" not in html
    assert html == html_of(work_out(DEMO))


def test_names_are_safe_to_show() -> None:
    html = html_of(work_out(replace(DEMO, name="<b>Pond & sons</b>")))
    assert "<b>Pond" not in html
    assert "&lt;b&gt;Pond &amp; sons" in html


def test_ids_are_each_there_once(work: Workings) -> None:
    extra = varied(DEMO, Axis("line.bore", (0.0127, 0.01905)))
    ids = re.findall(r' id="([^"]+)"', html_of(work, extra))
    assert len(ids) == len(set(ids))


def test_site_that_cannot_work_has_no_pictures() -> None:
    water = replace(DEMO.water, lift_m=8.5)
    site = replace(DEMO, water=water, suction=replace(DEMO.suction, length_m=12.0))
    html = html_of(work_out(site))
    assert "This site cannot work" in html
    assert "<svg" not in html
    assert "hurt people" in html


def test_curves_cross_at_the_operating_point() -> None:
    """The flow read off both curves at the point is the point's."""
    import numpy as np

    work = WorkingSite(DEMO)
    found = curves_of(work)
    for pump in found.pumps:
        flow, rise_pa = pump.at
        on_line = np.interp(flow, found.line_flow_m3_s, found.line_rise_pa)
        on_pump = np.interp(rise_pa, pump.rise_pa, pump.flow_m3_s)
        assert on_line == pytest.approx(rise_pa, rel=2e-3)
        assert on_pump == pytest.approx(flow, rel=2e-3)
    assert found.suction_limit_m3_s > work.middle.point.flow_m3_s


def test_page_on_the_command_line(tmp_path: Path) -> None:
    page = tmp_path / "size.html"
    args = ["size", "--vary", "line.bore=1/2 in,3/4 in", "--page", str(page)]
    result = CliRunner().invoke(cli, args, prog_name="rillkeeper")
    assert result.exit_code == 0
    assert str(page) in result.stderr
    assert "What if: line.bore" in page.read_text(encoding="utf-8")
    nowhere = ["size", "--page", str(tmp_path / "no" / "size.html")]
    assert CliRunner().invoke(cli, nowhere, prog_name="rillkeeper").exit_code == 2


@pytest.mark.browser
def test_page_in_a_browser(work: Workings, need: Callable[[str], Path], tmp_path: Path) -> None:
    axes = (Axis("line.bore", (0.0127, 0.01905)), Axis("cable.length", (1.0, 30.0)))
    file = tmp_path / "size.html"
    file.write_text(html_of(work, varied(DEMO, *axes)), encoding="utf-8")
    page = open_page(need("chromium"), file)
    assert page.errors == []
    assert page.requests == []
    assert not page.wider_than_screen
    assert len(page.pictures) == 6
    assert all(picture.words and picture.width > 300.0 for picture in page.pictures)
    assert work.verdict.sentence in page.text
    sheets = len(re.findall(rb"/Type\s*/Page\b", page.pdf))
    assert 3 <= sheets <= 12
    assert not open_page(need("chromium"), file, (390, 800)).wider_than_screen
