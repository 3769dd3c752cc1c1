"""Charge counted out of the battery, the operating point, and the whole root."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keeper.charge import Charge
from keeper.facts import NOON
from keeper.operating import BASE_NIGHTS, Operating, root, share_permille

from .bench import Bench, part


def charge(**changes: int) -> Charge:
    return part(Charge, **{"empty_mv": 12000, "charged_mv": 12600, **changes})


@pytest.mark.parametrize(("pressure_pa", "ma"), [(-9, 8000), (0, 8000), (200000, 12000)])
def test_current_is_a_line_in_pressure(pressure_pa: int, ma: int) -> None:
    assert charge().pump_ma(pressure_pa) == ma


@given(st.lists(st.integers(1, 1500), min_size=1, max_size=50), st.integers(0, 50000))
def test_counting_loses_nothing(spans_ms: list[int], ma: int) -> None:
    """The whole mAh of the sum are counted, however it is cut up."""
    counted = charge(board_ua=0)
    for span_ms in spans_ms:
        counted.count(ma, span_ms)
    assert counted.facts.used_mah == sum(spans_ms) * ma // 3600000
    assert counted.facts.left_mah == 45000 - counted.facts.used_mah


def test_the_board_draws_while_it_sleeps() -> None:
    counted = charge()
    counted.count_board(86400000)
    assert counted.facts.used_mah == 240
    counted.facts.left_mah = 1
    counted.count_board(86400000)
    assert counted.facts.left_mah == 0


def test_resistance_is_sag_over_current() -> None:
    assert charge().learn_resistance(12600, 12000, 12000) == 50
    assert charge().learn_resistance(12600, 12600, 12000) == 1
    assert charge().learn_resistance(12600, 12599, 12000) == 1
    assert charge().learn_resistance(12600, 12000, 0) == 1


def test_lift_is_bounded_by_the_refused_resistance() -> None:
    counted = charge()
    assert counted.lift_mv(12000) == 600
    counted.learn_resistance(12600, 9000, 12000)
    assert counted.lift_mv(12000) == 12000 * 250 // 1000


def test_what_is_left_in_time() -> None:
    counted = charge()
    assert counted.seconds_left(12000) == 43000 * 36 // 120
    assert counted.spare_mah(3600, 12000) == 45000 - 2000 - 12000
    assert counted.seconds_left(0) == 0
    counted.facts.left_mah = 2000
    assert counted.seconds_left(12000) == 0


def test_a_channel_below_zero_gives_no_charge_back() -> None:
    """While there is no pressure; with pressure such a channel is a bad one."""
    bench = Bench(current_fitted=1, current_zero_count=500)
    bench.raw = {"current": 0}
    bench.go("prime")
    bench.ticks(2500)
    assert bench.state == "prime"
    assert bench.keeper.watering.pump_ma == 0


# The operating point.


@given(st.integers(0, (1 << 30) - 1))
def test_root_is_that_of_the_standard_library(number: int) -> None:
    assert root(number) == math.isqrt(number)


def test_root_of_nothing() -> None:
    assert root(-5) == 0


@given(st.integers(-100000, 1600000), st.integers(10000, 1600000))
def test_share_is_the_quotient_in_thousandths(part: int, whole: int) -> None:
    assert share_permille(part, whole) == pytest.approx(1000 * part / whole, rel=0.002, abs=2)


def test_share_of_nothing() -> None:
    assert share_permille(5, 0) == 0


def test_flow_goes_with_the_root_of_pressure() -> None:
    operating = part(Operating, static_pa=20000)
    assert operating.flow_ml_min(200000) == 14000
    assert operating.flow_ml_min(20000 + 45000) == pytest.approx(7000, abs=20)
    assert operating.flow_ml_min(20000) == 0


def test_flow_stays_in_bounds() -> None:
    raised = {"static_pa": 190000, "dry_pa": 192000, "primed_pa": 195000}
    operating = part(Operating, flow_ml_min=200000, **raised)
    assert operating.flow_ml_min(1600000) == 500000


def learn(operating: Operating, pressure_pa: int, mv: int = 12000) -> None:
    operating.start()
    assert [operating.second(pressure_pa, mv) for _ in range(60)] == [False] * 59 + [True]


def test_base_is_the_mean_of_the_first_nights_and_then_kept() -> None:
    operating = part(Operating)
    for pressure_pa in (190000, 200000, 210000):
        learn(operating, pressure_pa)
        assert operating.facts.drift_permille == 0
        operating.facts.end(NOON)
    assert (operating.facts.base_pa, operating.facts.base_nights) == (200000, BASE_NIGHTS)
    learn(operating, 150000)
    assert operating.facts.drift_permille == 250
    assert operating.facts.base_pa == 200000
    assert not operating.second(100000, 12000), "learned once a night"
    assert share_permille(75000, operating.expected_pa) == 500


def test_pressure_is_brought_to_the_normal_voltage() -> None:
    operating = part(Operating, pressure_pa_per_v=20000)
    learn(operating, 210000, 12500)
    assert operating.facts.tonight_pa == 200000
    blind = part(Operating, pressure_pa_per_v=20000, battery_fitted=0)
    learn(blind, 210000, 12500)
    assert blind.facts.tonight_pa == 210000


def test_a_pressure_of_nothing_is_still_learned() -> None:
    operating = part(Operating)
    learn(operating, -100)
    assert operating.facts.tonight_pa == 1
