"""Counts: scale, noise, tolerances and every way in which a channel can be broken."""

from dataclasses import replace

import numpy as np
import pytest

from keeper.settings import SCHEMA
from rillsim.boards.sensors import BATTERY, CLOGGED, GOOD, OPEN, PRESSURE, SHORT, STUCK, Sensors
from rillsim.site import BoardSpec

BOARD = BoardSpec(current_fitted=True)
DEFAULTS = {row[0]: row[4] for row in SCHEMA}
TRUE = (12.4, 2.1e5, 8.0, 11.0)


def read(sensors: Sensors, n: int, values: tuple[float, ...] = TRUE) -> list[int]:
    counts = [0] * 6
    sensors.fill(counts, n, *values)
    return counts


def many(sensors: Sensors, values: tuple[float, ...] = TRUE, ticks: int = 4000) -> np.ndarray:
    return np.array([read(sensors, n, values) for n in range(ticks)])


def test_the_boards_default_scales_undo_ours() -> None:
    """What the settings say of the hardware is how it is built, over all boards' tolerances."""
    seen = np.array([many(Sensors(BOARD, seed), ticks=50).mean(axis=0) for seed in range(40)])
    battery, pressure, _, _, frost, current = seen.mean(axis=0)
    assert battery * DEFAULTS["battery_full_mv"] / 4096 == pytest.approx(12400, rel=2e-3)
    above = pressure - DEFAULTS["pressure_zero_count"]
    kpa = above * DEFAULTS["pressure_span_kpa"] / DEFAULTS["pressure_span_count"]
    assert kpa == pytest.approx(210.0, rel=5e-3)
    frost_c = (frost - DEFAULTS["frost_zero_count"]) * DEFAULTS["frost_mc_per_count"] / 1000
    assert frost_c == pytest.approx(8.0, abs=0.4)
    assert current * DEFAULTS["current_full_ma"] / 4096 == pytest.approx(11000, rel=6e-3)


def test_two_boards_differ_and_one_board_does_not() -> None:
    one, two = Sensors(BOARD, 1), Sensors(BOARD, 2)
    assert one.gain == Sensors(BOARD, 1).gain
    assert one.gain != two.gain
    for sensors in (one, two):
        assert abs(sensors.gain[BATTERY] * 18.3 / 4096 - 1.0) <= 0.0061
        assert abs(sensors.offset[PRESSURE] - 409.6) <= 8.1


def test_noise_is_small_and_grows_with_the_running_pump() -> None:
    sensors = Sensors(BOARD, 1)
    rest = many(sensors, (12.4, 2.1e5, 8.0, 0.0)).std(axis=0)
    running = many(sensors).std(axis=0)
    assert 0.3 < rest[0] < 1.2
    assert running[0] > 1.5 * rest[0]
    assert running[1] > 5.0 * rest[1]


def test_the_mean_follows_between_two_steps() -> None:
    """Dither: a third of a step more shows as a third of a count more in the mean."""
    sensors = Sensors(BOARD, 1)
    step_v = 1.0 / sensors.gain[BATTERY]
    low = many(sensors, (12.4, 0.0, 8.0, 0.0))[:, 0].mean()
    high = many(sensors, (12.4 + step_v / 3.0, 0.0, 8.0, 0.0))[:, 0].mean()
    assert high - low == pytest.approx(1.0 / 3.0, abs=0.05)


def test_noise_is_a_function_of_the_tick() -> None:
    one, two = Sensors(BOARD, 1), Sensors(BOARD, 1)
    forward = [read(one, n) for n in range(0, 2000, 7)]
    backward = [read(two, n) for n in reversed(range(0, 2000, 7))]
    assert forward == backward[::-1]


def test_readings_stop_at_the_ends_of_the_converter() -> None:
    sensors = Sensors(BOARD, 1)
    top = read(sensors, 0, (30.0, 3e6, 300.0, 90.0))
    assert [top[place] for place in (0, 1, 4, 5)] == [4095] * 4
    bottom = read(sensors, 0, (-1.0, -1e6, -300.0, 0.0))
    assert [bottom[place] for place in (0, 1, 4)] == [0] * 3


def test_a_channel_that_is_not_fitted_reads_nothing() -> None:
    bare = replace(
        BOARD,
        battery_fitted=False,
        pressure_fitted=False,
        frost_fitted=False,
        current_fitted=False,
    )
    assert read(Sensors(bare, 1), 0) == [0] * 6


@pytest.mark.parametrize("channel", [BATTERY, PRESSURE])
def test_open_short_and_stuck(channel: int) -> None:
    sensors = Sensors(BOARD, 1)
    good = read(sensors, 10)
    for state, count in ((OPEN, 0), (SHORT, 4095), (STUCK, 1234)):
        sensors.set_wiring(channel, state, held=1234)
        broken = read(sensors, 10)
        assert broken[channel] == count
        assert broken[1 - channel] == good[1 - channel]
    sensors.set_wiring(channel, 0)
    assert read(sensors, 10) == good


def test_a_clogged_port_goes_on_measuring_what_was_there() -> None:
    """As noisy as a sound one at rest, so that it does not look stuck."""
    sensors = Sensors(BOARD, 1)
    sensors.set_wiring(PRESSURE, CLOGGED, held=1234)
    seen = many(sensors)[:, 1]
    assert seen.mean() == pytest.approx(1234.0, abs=0.05)
    assert seen.std() == pytest.approx(0.67, abs=0.05), "0.6 counts, and the rounding"
    assert many(sensors, (12.4, 0.0, 8.0, 0.0))[:, 1].tolist() == seen.tolist()
    sensors.set_wiring(PRESSURE, GOOD)
    assert read(sensors, 10) == read(Sensors(BOARD, 1), 10)


def test_a_loose_wire_is_off_for_its_share_of_the_time() -> None:
    sensors = Sensors(BOARD, 1)
    sensors.set_wiring(PRESSURE, OPEN, share=0.3)
    off = (many(sensors)[:, 1] == 0).mean()
    assert off == pytest.approx(0.3, abs=0.03)


def test_swapped_channels() -> None:
    sensors = Sensors(BOARD, 1)
    good = read(sensors, 10)
    sensors.set_swapped(True)
    assert read(sensors, 10)[:2] == [good[1], good[0]]
    sensors.set_swapped(False)
    assert read(sensors, 10) == good


def test_the_rp2040_converter_is_a_choice() -> None:
    ideal, wide = Sensors(BOARD, 1), Sensors(BOARD, 1, "rp2040")
    volts = np.linspace(11.0, 12.0, 200)
    apart = [
        read(ideal, 0, (volt, 0.0, 0.0, 0.0))[0] - read(wide, 0, (volt, 0.0, 0.0, 0.0))[0]
        for volt in volts
    ]
    assert max(map(abs, apart)) > 2
