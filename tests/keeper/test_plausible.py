"""Settings that would wear out a pump, or never water: each refused, with what to do."""

import re

import pytest

from keeper import Settings, SettingsError
from keeper.checked import DEPTH, MINUTES, VOLUME
from keeper.plausible import heat_of
from keeper.relaywatch import cooling_of
from keeper.settings import problems

from .bench import SITE

# The worst that is still accepted, and a step beyond it: what is said begins with the key.
HARMFUL = {
    "dry limit at the standing water": (
        {"static_pa": 20000, "dry_pa": 22000},
        {"dry_pa": 21999},
    ),
    "dry limit at no pressure": ({"dry_pa": 2000}, {"dry_pa": 1999}),
    "nozzle below the pump": ({"static_pa": -9000, "dry_pa": 2000}, {"dry_pa": 1999}),
    "dead head out of reach": (
        {"dead_head_pa": 500000, "rating_pa": 600000},
        {"dead_head_pa": 500001},
    ),
    "no such pump": (
        {"rating_pa": 1100000, "pressure_span_kpa": 1600, "pressure_span_count": 3276},
        {"rating_pa": 1100001},
    ),
    "no channel at all": (
        {"pressure_fitted": 0},
        {"battery_fitted": 0},
    ),
}
IDLE = {
    "dead head in the swings": ({"dead_head_pa": 210000}, {"dead_head_pa": 209999}),
    "primed out of reach": ({"primed_pa": 190000}, {"primed_pa": 190001}),
    "line open in the swings": ({"line_open_permille": 850}, {"line_open_permille": 851}),
    "line open below dry": ({"line_open_permille": 120}, {"line_open_permille": 119}),
    "brown-out at work": (
        {"floor_mv": 11899, "normal_mv": 11900, "cutout_mv": 12000},
        {"floor_mv": 11900},
    ),
    # 12 A over 50 mohm: a lift and a sag of 600 mV.
    "flat at work": (
        {"cutout_mv": 12599, "reconnect_mv": 12700, "empty_mv": 0},
        {"cutout_mv": 12600},
    ),
    # 200 kPa of 14 L/min are 46.7 W. A current line that starts lower, with a voltage at which the
    # cut-out is far: every start would show a resistance that is refused.
    "more water than power": (
        {"normal_mv": 14000, "current_ma_per_bar": 1000, "current_zero_ma": 3560},
        {"current_zero_ma": 3550},
    ),
    "stalled at work": ({"stall_sag_mv": 601}, {"stall_sag_mv": 600}),
    "stall current at work": ({"current_fitted": 1, "stall_ma": 12001}, {"stall_ma": 12000}),
    # 100 mL in a pulse, at 14 L/min one in 428 ms.
    "pulses too far apart": (
        {"flow_fitted": 1, "pulse_ul": 1000000, "no_flow_ms": 8571},
        {"no_flow_ms": 8570},
    ),
    # Five minutes of 12 A are 1000 mAh.
    "no charge for a set": ({"reserve_mah": 44000}, {"reserve_mah": 44001}),
    "run beyond the longest": ({"run_max_s": 1800}, {"run_max_s": 1799}),
    "runs beyond the starts": (
        {"set1_runs": 4, "set1_soak_s": 60, "starts_max": 4},
        {"starts_max": 3},
    ),
    "motor hot": ({"duty_s": 1800}, {"duty_s": 1799}),
    "motor never cool": ({"duty_permille": 21}, {"duty_permille": 20}),
}


@pytest.mark.parametrize("name", HARMFUL)
def test_harmful_settings_are_refused_even_on_trial(name: str) -> None:
    last, beyond = HARMFUL[name]
    values = {**SITE, **last}
    assert problems(values) == []
    for trial in (False, True):
        with pytest.raises(SettingsError) as raised:
            Settings({**values, **beyond}, trial)
        assert one_line(raised.value.problems, beyond)


@pytest.mark.parametrize("name", IDLE)
def test_idle_settings_are_refused_but_on_trial(name: str) -> None:
    last, beyond = IDLE[name]
    values = {**SITE, **last}
    assert problems(values) == []
    assert one_line(problems({**values, **beyond}), beyond)
    Settings({**values, **beyond}, trial=True)


@pytest.mark.parametrize("name", {**HARMFUL, **IDLE})
def test_the_figure_that_is_named_is_the_last_that_is_accepted(name: str) -> None:
    last, beyond = {**HARMFUL, **IDLE}[name]
    ((key, value),) = beyond.items()
    named = re.search(
        r"; (at least|at most|above|below) (-?\d+)$", *problems({**SITE, **last, **beyond})
    )
    if named:
        accepted = named[1] in ("at least", "at most")
        assert int(named[2]) == (last[key] if accepted else value)


def one_line(found: list[str], beyond: dict[str, int]) -> bool:
    """One sentence: key, value, why, and after a semicolon what to do."""
    ((key, value),) = beyond.items()
    (text,) = found
    return text.startswith(f"{key} ({value}): ") and "; " in text and "\n" not in text


def test_a_limit_of_a_channel_that_is_not_there_is_not_judged() -> None:
    blind = {"dry_pa": 0, "dead_head_pa": 200001, "primed_pa": 199999, "line_open_permille": 1000}
    assert problems({**SITE, "pressure_fitted": 0, **blind}) == []
    assert problems({**SITE, "battery_fitted": 0, "stall_sag_mv": 100}) == []


def test_a_set_is_reckoned_at_the_expected_flow() -> None:
    """30 min at 14 L/min are 420 L, or 3.5 mm on 120 m2."""
    for unit, amount in ((MINUTES, 30), (VOLUME, 420), (DEPTH, 35)):
        values = {**SITE, "set1_unit": unit, "set1_amount": amount}
        assert problems({**values, "run_max_s": 1800}) == []
        assert one_line(problems({**values, "run_max_s": 1799}), {"run_max_s": 1799})


def test_long_soaks_ask_for_no_more_starts_in_an_hour() -> None:
    """Runs of 15 min with 45 min between: two starts lie within 3600 s."""
    values = {**SITE, "set1_amount": 60, "set1_runs": 4, "set1_soak_s": 2700}
    assert problems({**values, "starts_max": 2}) == []
    assert one_line(problems({**values, "starts_max": 1}), {"starts_max": 1})


def test_a_motor_cools_in_soaks_and_between_sets() -> None:
    """By hand: at half its time a motor cools as fast as it heats."""
    assert cooling_of(500) == 1000
    assert cooling_of(100) == 111
    assert cooling_of(1000) == 10000
    runs = ("set1_", 0, 3, 600, 200)
    assert heat_of([runs], 500) == 600 + 400 + 400
    later = ("set2_", 3 * 600 + 2 * 200 + 1000, 1, 900, 0)
    assert heat_of([later, runs], 500) == 1400
    at_once = ("set2_", 0, 1, 900, 0)
    assert heat_of([runs, at_once], 500) == 900 + 600 + 400 + 400
    assert heat_of([], 500) == 0


@pytest.mark.parametrize("number", [1, 2, 3])
def test_each_of_the_three_sets_is_looked_at(number: int) -> None:
    key = f"set{number}_"
    one = {f"{key}unit": MINUTES, f"{key}amount": 90, f"{key}runs": 1, "run_max_s": 5399}
    (found,) = problems({**SITE, "set1_unit": 0, **one})
    assert found.startswith("run_max_s")
    assert f"more {key}runs" in found
