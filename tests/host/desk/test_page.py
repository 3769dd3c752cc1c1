"""The page in a real Chromium: drag and keyboard, narrow and dark, print."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.site.change import with_value
from rillkeeper.site.file import demo_site, read_site
from tests.host.board.link.virtual import Running
from tests.host.desk.serving import DEMO_TEXT, Open
from tests.host.desk.window import PHONE, WIDE, Opener, axe

pytestmark = pytest.mark.browser


def test_it_begins_with_the_site_and_asks_nobody_else(show: Opener) -> None:
    with show() as shown:
        assert shown.page.title() == "Allotment above the old mill pond - desk"
        assert shown.figure("Nights on a charge") == "2.8"
        lead = shown.page.locator("#panel-now .lead").inner_text()
        assert lead.startswith("This site works, except that the jet hardly breaks up")
        assert shown.page.locator("#panel-now .section .badge.look").count() >= 3
        names = shown.page.locator("#panel-now svg").evaluate_all(
            "all => all.map(one => one.getAttribute('aria-label'))"
        )
        assert any("30.0 m of hose" in name for name in names)
        assert (shown.wrong, shown.strange) == ([], [])


def test_a_drag_moves_the_control_and_the_answer(show: Opener) -> None:
    with show() as shown:
        throw, hose = shown.figure("Throw"), shown.value("line.length")
        shown.drag("line.length", -150, 0)
        assert float(shown.value("line.length")) < float(hose)
        assert float(shown.figure("Throw").split()[0]) > float(throw.split()[0])
        shown.drag("water.lift", 0, 40)
        lower = float(shown.value("water.lift"))
        assert lower > 1.4
        assert f"{lower:.1f} m" in shown.page.locator("#panel-now .section").inner_text()
        shown.drag("stand", 60, 0)
        assert float(shown.value("sprinkler.x")) > 5.4
        shown.click_through("suction.bore")
        assert shown.value("suction.bore") == "25.4 mm"
        for _ in range(5):
            shown.page.click("#undo")
        shown.whole()
        assert shown.value("line.length") == hose
        assert shown.value("suction.bore") == "3/4 in"
        assert shown.figure("Throw") == throw
        assert shown.page.locator("#undo").is_disabled()
        assert shown.wrong == []


def test_every_handle_goes_by_the_keyboard(show: Opener) -> None:
    with show() as shown:
        labels = shown.page.locator("#handles label")
        assert labels.count() == 17
        for n in range(labels.count()):
            label = labels.nth(n)
            control = shown.page.locator(f"[id='{label.get_attribute('for')}']")
            before = control.input_value()
            control.focus()
            control.press("ArrowRight" if control.get_attribute("type") == "range" else "ArrowUp")
            if control.input_value() == before:
                control.press("ArrowDown")
            assert control.input_value() != before, label.inner_text()
            shown.page.keyboard.press("Control+z")
            assert control.input_value() == before, label.inner_text()
        assert shown.page.locator("#undo").is_disabled()
        assert shown.wrong == []


def test_what_is_wrong_lights_up_with_its_sentence(show: Opener) -> None:
    with show() as shown:
        lift = shown.page.locator("input[aria-label='Pump above the water, m']")
        lift.fill("2.9")
        lift.press("Enter")
        shown.page.wait_for_selector("#panel-now .section .badge.act")
        shown.whole()
        badges = shown.page.locator("#panel-now .section .badge.act title").all_text_contents()
        assert "the pump cannot prime" in badges
        assert "stands 2.9 m above" in shown.page.locator("#panel-now .answers-open").inner_text()
        lift.fill("4.5")
        lift.press("Enter")
        shown.page.wait_for_selector("#panel-now.stale")
        at = shown.page.locator("#handle-suction-length-wrong").inner_text()
        assert "does not reach the water" in at
        assert shown.page.locator("#handle-suction-length").get_attribute("aria-invalid") == "true"
        assert shown.wrong == []


def test_two_sites_side_by_side_and_saved(show: Opener, tmp_path: Path) -> None:
    with show() as shown:
        shown.page.click("#compare")
        shown.page.select_option("#handle-suction-bore", "25.4 mm")
        shown.page.wait_for_selector("#panel-with[data-whole=true]")
        shown.page.wait_for_function(
            "() => document.querySelector('#panel-with .changed').textContent.includes('25.4 mm')"
        )
        assert shown.page.locator("#panel-now .changed").inner_text() == "as in the file"
        assert shown.figure("What was changed costs", "with") == "small"
        with shown.page.expect_download() as got:
            shown.page.click("#save")
        text = Path(got.value.path()).read_text(encoding="utf-8")
        assert got.value.suggested_filename == "plot.toml"
        assert read_site(text) == with_value(demo_site(), "suction.bore", 25.4e-3)
        assert "# Grit in the foot valve" in text
        shown.page.click("[data-active=now]")
        assert shown.value("suction.bore") == "3/4 in"
        assert shown.wrong == []


def test_a_file_with_mistakes_is_put_right_in_the_page(show: Opener, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    wrong = DEMO_TEXT.replace('lift = "1.4 m"', "lift = 1.4").replace("mill pond", "weir")
    file.write_text(wrong, encoding="utf-8")
    with show() as shown:
        shown.page.set_input_files("#file", file)
        shown.page.wait_for_selector("#mistakes:not([hidden])")
        for there_is_no_site in ("save", "undo", "compare", "play-night"):
            assert shown.page.locator(f"#{there_is_no_site}").is_disabled()
        lift = shown.page.get_by_label("water.lift, line")
        assert lift.input_value() == "1.4"
        assert "the unit is missing" in shown.page.locator("#mistake-list").inner_text()
        lift.fill("1.1 m")
        shown.page.click("#again")
        shown.page.wait_for_function(
            "() => document.title.startsWith('Allotment above the old weir')"
        )
        shown.whole()
        assert shown.value("water.lift") == "1.1"
        assert shown.wrong == []


def test_a_night_is_played(show: Opener) -> None:
    with show() as shown:
        shown.page.click("[data-view=night]")
        shown.page.select_option("#fault", "outlet_shut")
        shown.page.fill("#minutes", "2")
        shown.page.click("#play-night")
        shown.page.wait_for_selector("#player:not([hidden])")
        shown.page.click("#play")
        slider = shown.page.locator("#at")
        slider.evaluate("one => { one.value = one.max; one.dispatchEvent(new Event('input')); }")
        told = shown.page.locator("#night-told").inner_text()
        assert "stopped for the night" in told
        assert "The plant shows it." in shown.page.locator("#fault-felt").inner_text()
        slider.evaluate("one => { one.value = one.min; one.dispatchEvent(new Event('input')); }")
        assert "Is the tap" not in shown.page.locator("#night-told").inner_text()
        assert shown.wrong == []


@pytest.mark.parametrize(
    ("size", "scheme"), [(WIDE, "light"), (PHONE, "dark")], ids=["wide", "phone, dark"]
)
def test_no_violation_by_axe(show: Opener, size: tuple[int, int], scheme: str) -> None:
    """On all three views; that of a board at work has a test of its own."""
    with show(size, scheme) as shown:
        for view in ("try", "night", "watch"):
            shown.page.click(f"[data-view={view}]")
            if view == "try":
                shown.page.click("#compare")
                shown.page.wait_for_selector("#panel-with[data-whole=true]")
            assert axe(shown.page) == [], view
            wide = shown.page.evaluate(
                "() => document.documentElement.scrollWidth > window.innerWidth"
            )
            assert not wide, view
        assert shown.wrong == []


def test_on_a_phone_the_drawing_stays_in_sight(show: Opener) -> None:
    with show(PHONE) as shown:
        shown.page.locator("#handle-cable-length").scroll_into_view_if_needed()
        box = shown.page.locator("#panel-now .section").bounding_box()
        assert box is not None
        assert box["y"] == pytest.approx(0.0, abs=1.0)
        assert box["width"] <= PHONE[0]


def test_it_prints_the_drawing_and_its_figures_only(show: Opener) -> None:
    with show(scheme="dark") as shown:
        shown.page.emulate_media(media="print")
        assert shown.page.locator("#handles").is_hidden()
        assert shown.page.locator("#panel-now .section").is_visible()
        assert shown.page.locator("#panel-now .figures").is_visible()
        paper = "() => getComputedStyle(document.body).backgroundColor"
        assert shown.page.evaluate(paper) == "rgb(255, 255, 255)"
        pdf = shown.page.pdf(format="A4")
        assert pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") <= 2
        assert shown.wrong == []


@pytest.mark.interpreter
def test_a_board_is_watched_and_asked_with_a_question_first(
    show: Opener, desk: Open, start: Callable[..., Running]
) -> None:
    path = start("--at", "21:00", "--speed", "20").path
    with show(PHONE, "dark") as shown:
        page = shown.page
        page.click("[data-view=watch]")
        page.wait_for_selector(f"#port option[value='{path}']", state="attached")
        page.click("#watch-port")
        page.wait_for_selector("#live:not([hidden])")
        assert page.locator("#does").inner_text() == "The board is waiting."
        assert "shut above" in page.locator("#live-pressure").text_content()
        page.click("[data-do=run]")
        assert "Be near enough to see the water" in page.locator("#question").inner_text()
        page.click("#question button[value=no]")
        assert not json.loads(desk.get("board").body)["pumps"]
        page.click("[data-do=run]")
        page.keyboard.type("3")
        page.click("#question button[value=yes]")
        page.wait_for_function(
            "() => document.getElementById('does').textContent.includes('pumping')"
        )
        told = axe(page)
        assert told == []
        page.click("#do-stop")
        page.wait_for_function(
            "() => document.getElementById('said').textContent.startsWith('stopped')"
        )
        assert page.locator("#to-morning").get_attribute("href").startswith("shown/morning?board=")
        page.click("#let-go")
        page.wait_for_selector("#live", state="hidden")
        assert (shown.wrong, shown.strange) == ([], [])
