"""Nights left: the count, the batteries that the readings allow, and when nothing is known."""

from dataclasses import replace

import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.morning.coming import from_report
from rillkeeper.morning.coming.words import sentences
from rillkeeper.morning.nights_left import each_morning, nights_left, predict
from rillkeeper.morning.nights_left.ahead import Keeping, Usual, nights_ahead, nights_by_count
from rillkeeper.morning.nights_left.candidates import Candidate, candidates, weights
from rillkeeper.morning.nights_left.tonight import planned_night
from rillkeeper.morning.report.report import report_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.site.file import demo_site
from rillsim.site import BatterySpec
from rillsim.supply.battery import Battery
from tests.bench.nights_left import draw, draw_tired, log_of, mornings
from tests.bench.other_battery import drawn, in_the_plant
from tests.host.morning.sample_week import demo_week
from tests.host.runlog.sample_log import Writer, minutes, sample

USUAL = Usual(run_s=1200.0, current_a=12.0, idle_a=0.004, used_ah=4.1)
KEEPING = Keeping(cutout_v=11.9, capacity_ah=30.0, reserve_ah=1.5, rest_v=(12.2, 12.55))


# The count.


def test_by_count_alone() -> None:
    assert nights_by_count(4.1 * 3.5, USUAL) == pytest.approx(3.5)
    assert nights_by_count(0.0, USUAL) == 0.0
    assert nights_by_count(4.1 * 3.2, USUAL) == 3.0, "four minutes are no start"


def test_without_a_site_it_is_the_boards_count_with_a_wide_band() -> None:
    left = report_of(sample().lines[:32]).left
    assert left.by == "count"
    assert left.middle == pytest.approx(5.8)
    assert left.low is not None
    assert left.high is not None
    assert left.low < 5.0
    assert left.high > 6.5


def test_nothing_is_known_of_an_empty_log() -> None:
    report = report_of([])
    assert report.left.middle is None
    assert verdict_of(report)["battery"].short == "Not known"
    log = Writer()
    log.add("0 18:00:00", "boot", 0, 1, 1, 30000)
    log.add("0 18:00:00", "battery", 12650, 30000)
    report = report_of(log.lines)
    assert report.left.middle is None
    assert "No night of this log was whole" in verdict_of(report)["battery"].sentence
    assert (
        verdict_of(report)["battery"].detail == "The board counted 30.0 Ah when the log was read."
    )


def test_a_board_that_stopped_for_its_battery_has_none_left() -> None:
    log = sample()
    log.add("3 22:00:02", "start", 1, 1, 12300, 24000, 150, 11000)
    minutes(log, 3, 1, 5, 150000, 11500)
    log.add("3 22:05:30", "trip", 6, 12100, 12150, 10000, 6, 0)
    log.add("3 22:05:30", "stop", 22, 330, 150000, 11500, 1100, 88000)
    report = report_of(log.lines, demo_site())
    assert report.left.middle == 0.0
    assert report.left.by == "trip"
    assert verdict_of(report)["battery"].short == "Before the next night"
    log.add("4 15:00:00", "battery", 12640, 35000)
    assert report_of(log.lines, demo_site()).left.by != "trip"


def test_before_a_whole_night_it_is_the_plan() -> None:
    """The sample without its first night: the line was shut on the second."""
    report = report_of(sample().lines[31:], demo_site())
    assert not any(night.whole for night in report.nights)
    # By hand: 24.5 Ah less 1.76 of reserve, over 1014 L at 16 L/min and 12 A, and 0.1 Ah idle.
    assert report.left.middle == pytest.approx(
        (24.5 - 1.76) / (12.0 * 1014 / 16 / 60 + 0.12), 0.05
    )
    assert "No whole night yet" in verdict_of(report)["battery"].detail


def cut_before(mark: str, more: int = 0) -> list[str]:
    """The demonstration's log as it was just before such a record, or so many records later."""
    log = demo_week().log
    place = next(place for place, line in enumerate(log) if mark in line)
    return log[: place + more]


def test_before_the_first_set_the_count_stands_over_what_the_sets_should_take() -> None:
    report = report_of(cut_before(" set set=1 "), demo_site())
    first = report.nights[0].day
    assert report.next_day == first, "tonight is still to come"
    # By hand: 35.1 Ah less 1.8 of reserve, over an hour at 12.4 A; the voltage allows a little
    # less than that.
    assert report.left.middle == pytest.approx((35.1 - 1.8) / 12.5, rel=0.15)
    assert report.left.high is not None
    assert report.left.low is not None
    assert report.left.high - report.left.low > 0.5, "nothing was measured yet"
    assert "the board's count" in report.left.note
    plan = from_report(report)
    assert plan
    assert plan.nights[0].day == first
    assert [trip.day for trip in plan.trips][:1] == [first + int(report.left.middle or 0)]
    assert any("the board's count" in sentence for sentence in sentences(plan))


def test_half_a_night_tells_what_the_whole_night_then_does() -> None:
    """The same log read twice: in the first run of two, and when the night was over."""
    early = report_of(cut_before(" start set=1 ", 15), demo_site())
    late = report_of(cut_before(" night run_s="), demo_site())
    assert early.nights[-1].running
    assert not early.nights[-1].whole
    assert late.nights[-1].whole
    assert early.next_day == late.next_day == early.nights[0].day + 1
    assert early.left.middle == pytest.approx(late.left.middle or 0.0, abs=0.2)
    assert "What the rest of tonight takes" in early.left.note
    assert verdict_of(early)["battery"].short == verdict_of(late)["battery"].short
    without = report_of(cut_before(" start set=1 ", 15))
    assert without.left.middle, "a part of a night tells it without a site too"
    assert "the part that was pumped" in without.left.note


def test_between_two_sets_the_night_is_not_over() -> None:
    settings = settings_of(demo_site())
    first = dict(settings, set2_unit=1, set2_amount=30, set2_start_s=4 * 3600, set2_runs=1)
    first["set2_window_s"] = 3600
    night = report_of(cut_before(" night run_s="), demo_site()).nights[-1]
    assert night.whole
    planned = planned_night(first)
    assert planned.run_s == pytest.approx(60 * 60 + 30 * 60, abs=20)
    assert planned.due(night) == pytest.approx(30 / 90, abs=0.01)
    assert planned_night(settings).due(night) == 0.0


# The batteries.


def battery(size: float = 1.0) -> Battery:
    return Battery(BatterySpec("flooded", 60.0 * size, 0.0, 20.0))


def test_a_smaller_battery_ends_sooner_and_is_left_as_it_was() -> None:
    found = []
    for size in (1.0, 0.7, 0.5):
        one = battery(size)
        before = one.save()
        found.append(nights_ahead(one, 30.0, 36000.0, USUAL, KEEPING))
        assert one.save() == before
    assert found[0] == pytest.approx(nights_by_count(28.5, USUAL), abs=0.35), "the count ends it"
    assert found[0] > found[1] > found[2]


def test_the_board_cuts_its_count_by_the_rest_voltage() -> None:
    """The same rule as on the board (``charge.Charge.check``)."""
    from keeper import Settings
    from keeper.charge import Charge
    from keeper.facts import Facts
    from tests.keeper.bench import SITE

    settings = Settings({**SITE, "capacity_mah": 30000, "empty_mv": 12200, "charged_mv": 12550})
    board = Charge(settings, Facts(settings))
    for mv in (12100, 12250, 12400, 12600):
        board.facts.left_mah = 30000
        board.check(mv, False)
        assert KEEPING.believed_ah(30.0, mv / 1000.0) == pytest.approx(
            board.facts.left_mah / 1000.0, abs=0.1
        )


def test_readings_of_a_battery_make_it_the_likely_one() -> None:
    spec = BatterySpec("agm", 60.0, 0.0, 20.0)
    found = candidates(spec, 1.0, charged=True)
    assert all(isinstance(one, Candidate) for one in found)
    real = Battery(replace(spec, capacity_ah=60.0 * 0.78), 1.0)
    for one in (*(each.battery for each in found), real):
        one.step(6.0, 3600.0)
    for _ in range(6):
        for one in (*(each.battery for each in found), real):
            one.step(6.0, 3000.0)
            one.step(0.004, 36000.0)
        for each in found:
            each.see(real.emf_v + 0.01, each.battery.emf_v)
    chances = weights(found)
    assert sum(chances) == pytest.approx(1.0)
    # How big it is and how steep its curve cannot be told apart; what they make together can.
    falls = sum(
        chance * one.steep() / one.battery.spec.capacity_ah
        for chance, one in zip(chances, found, strict=True)
    )
    assert falls == pytest.approx(1.0 / (60.0 * 0.78), rel=0.1)


@pytest.mark.slow
@pytest.mark.xdist_group("nights left")
@pytest.mark.parametrize("number", [0])
def test_the_board_promises_no_more_than_a_tired_battery_gives(number: int) -> None:
    """Seven tenths of its label; forty such are in ``make bench``."""
    found = list(mornings(draw_tired(number), log_of(draw_tired(number))))
    assert found
    for morning in found:
        assert 0.3 * morning.came - 0.1 <= morning.board <= morning.came + 0.1


@pytest.mark.slow
@pytest.mark.xdist_group("nights left")
@pytest.mark.parametrize("number", [1])
def test_predicted_against_what_then_happened(number: int) -> None:
    """One battery; a hundred of all chemistries are in ``make bench``."""
    found = list(mornings(draw(number), log_of(draw(number))))
    assert found
    for morning in found:
        assert abs(morning.middle - morning.came) <= 0.5
        assert morning.low - 0.1 <= morning.came <= morning.high + 0.1


@pytest.mark.slow
@pytest.mark.xdist_group("nights left")
def test_a_battery_less_than_its_label_is_found_out() -> None:
    """A quarter smaller and not full: the readings tell, and the board too promises no more."""
    case = draw(3, worse=True)
    found = list(mornings(case, log_of(case)))
    assert max(morning.board - morning.came for morning in found) <= 0.5
    last = found[len(found) // 2 :]
    assert all(morning.middle - morning.came < 0.6 for morning in last)


def test_a_battery_of_another_model_is_not_promised_too_long() -> None:
    """PyBaMM in the plant (tests/published/porous_battery.py): it falls 1.65 times as fast
    with the charge as the table here, and stands 0.2 V higher when full."""
    case, _, charge = drawn(0)
    with in_the_plant(charge):
        found = list(mornings(case, log_of(case)))
    assert len(found) == 3
    assert all(morning.middle - morning.came < 0.5 for morning in found)
    assert all(morning.low - 0.05 <= morning.came <= morning.high + 0.05 for morning in found)
    assert all(morning.board - morning.came <= 0.5 for morning in found)


def test_of_what_may_come_the_careful_side_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another's battery, not charged to the full. Told as later mornings are, the first would be
    half a night more than comes; by the middle, a later one too."""
    case, _, charge = drawn(73)
    with in_the_plant(charge):
        log = log_of(case)
    told = [morning.middle - morning.came for morning in mornings(case, log)]
    assert len(told) == 4
    assert all(-0.5 < off < 0.5 for off in told)
    monkeypatch.setattr(predict, "CAREFUL_FIRST", predict.CAREFUL)
    first = next(mornings(case, log))
    assert first.middle - first.came > 0.5
    monkeypatch.setattr(predict, "CAREFUL", 0.5)
    assert max(one.middle - one.came for one in list(mornings(case, log))[1:]) > 0.5


def test_one_whole_night_of_a_charge_shows_less_of_its_curve_than_two() -> None:
    nights = [night for night in report_of(demo_week().log, demo_site()).nights if night.whole]
    runs = [run for night in nights for run in night.runs]
    below = predict._share_below
    assert below([], []) == 0.5
    assert below([replace(nights[0], sets=())], runs) == 0.5, "no whole night: the plan is told"
    assert below(nights[:1], runs) == predict.CAREFUL_FIRST
    assert below(nights[:2], runs) == predict.CAREFUL
    assert below(nights[:3], nights[2].runs) == predict.CAREFUL_FIRST, "charged before the third"
    assert below(nights[:3], nights[1].runs) == predict.CAREFUL
    assert below(nights[:3], []) == predict.CAREFUL_FIRST, "charged, and has not worked since"


def test_the_board_promises_no_more_than_a_cold_battery_of_another_model_gives() -> None:
    """Near 5 C: past a quarter of its count no run begins, since what its own resistance takes is
    not made good there. By its curve alone the board told 1.3 nights too many."""
    case, kind, charge = drawn(56)
    assert kind == "cold"
    with in_the_plant(charge):
        found = list(mornings(case, log_of(case)))
    assert len(found) == 3
    assert all(-0.5 < morning.board - morning.came < 0.5 for morning in found)


def test_another_battery_is_not_known_before_its_first_night() -> None:
    site = demo_site()
    log = sample()
    log.add("3 15:00:00", "battery", 12650, 35000)
    log.add("4 12:00:00", "night", 0, 0, 100, 34900, 80, 12640)
    report = report_of(log.lines, site)
    assert "has not worked yet" in report.left.note
    assert report.left.low is not None
    assert report.left.high is not None
    assert report.left.high - report.left.low > 0.5
    same = nights_left(report.nights, site, settings_of(site))
    assert same == report.left


def test_a_panel_is_not_in_the_count() -> None:
    site = demo_site()
    sunny = replace(site, solar=replace(site.solar, power_w=20.0))
    assert report_of(sample().lines, sunny).left.by == "count"
    assert report_of(sample().lines, site).left.by == "count and voltage"


def test_each_morning_is_what_was_known_then() -> None:
    report = report_of(sample().lines, demo_site())
    found = each_morning(report.nights, report.site, report.settings)
    assert [day for day, _ in found] == [night.day for night in report.nights]
    assert found[-1][1] == report.left
    first = report_of(sample().lines[:31], demo_site())
    assert found[0][1].middle == pytest.approx(first.left.middle, abs=0.05)
    middles = [left.middle or 0.0 for _, left in found]
    assert middles == sorted(middles, reverse=True)
