"""The battery's trims from two readings with the pump off and on, some tenths of a volt apart."""

from itertools import product

import pytest

from rillkeeper.board.proof.calibrate import (
    BATTERY_GAIN_MAX,
    BATTERY_OFFSET_MAX_MV,
    Implausible,
    battery_retrimmed,
    battery_trims,
    pressure_retrimmed,
    pressure_trims,
)

FULL_MV = 18300
NOW = {"battery_full_mv": FULL_MV, "battery_full_trim_mv": 0, "battery_offset_mv": 0}
PRESSURE = {
    "pressure_zero_count": 410,
    "pressure_zero_trim_count": 0,
    "pressure_span_count": 3277,
    "pressure_span_trim_count": 0,
    "pressure_span_kpa": 1000,
}
OFF_MV, ON_MV = 12640.0, 12230.0
"""A battery at rest, and as the pump of the demonstration site pulls it down."""


def reads(true_mv: float, gain: float, zero_mv: float) -> float:
    """What a board reads whose scale and zero are wrong by so much."""
    return (true_mv - zero_mv) / gain


def shows(true_mv: float, digit: int) -> float:
    """What a meter with a last digit of 10 mV shows, a digit off or not."""
    return round(true_mv / 10) * 10.0 + 5.0 * digit


@pytest.mark.parametrize("digits", list(product((-1, 0, 1), repeat=2)))
@pytest.mark.parametrize("gain", [0.967, 0.984, 1.0, 1.016, 1.033])
@pytest.mark.parametrize("zero_mv", [-15.0, 0.0, 15.0])
def test_sound_parts_are_never_refused_and_read_right_from_flat_to_full(
    gain: float, zero_mv: float, digits: tuple[int, int]
) -> None:
    """Two resistors of 1 % against each other are 1.64 %, a 3.3 V that is off the same again."""
    points = [
        (reads(true, gain, zero_mv), shows(true, digit))
        for true, digit in zip((OFF_MV, ON_MV), digits, strict=True)
    ]
    after = {**NOW, **battery_trims(points, NOW)}
    for true_mv, most_mv in ((11500.0, 25.0), (12230.0, 15.0), (12640.0, 15.0), (14400.0, 40.0)):
        read_mv = battery_retrimmed(reads(true_mv, gain, zero_mv), NOW, after)
        assert read_mv == pytest.approx(true_mv, abs=most_mv), (after, true_mv)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(12500.0, 12500.0 * 1.06), (12100.0, 12100.0 * 1.06)], "battery scale"),
        ([(12500.0, 12600.0), (12100.0, 12100.0)], "no one correction fits both readings"),
        ([(12500.0, 1250.0)], "battery scale"),
    ],
)
def test_bad_readings_are_refused_in_one_line(
    points: list[tuple[float, float]], words: str
) -> None:
    with pytest.raises(Implausible, match=words) as refused:
        battery_trims(points, NOW)
    assert "\n" not in str(refused.value)


def test_a_second_calibration_starts_from_the_first() -> None:
    first = {**NOW, **battery_trims([(OFF_MV, OFF_MV * 1.02), (ON_MV, ON_MV * 1.02)], NOW)}
    read = [battery_retrimmed(mv, NOW, first) for mv in (OFF_MV, ON_MV)]
    again = battery_trims([(read[0], OFF_MV * 1.02), (read[1], ON_MV * 1.02)], first)
    assert again == pytest.approx(battery_trims([(OFF_MV, OFF_MV * 1.02)] * 2, NOW), abs=5)
    assert abs(again["battery_full_trim_mv"]) < BATTERY_GAIN_MAX * FULL_MV
    assert abs(again["battery_offset_mv"]) < BATTERY_OFFSET_MAX_MV


def test_pressure_reads_as_its_trims_say() -> None:
    points = [(0.0, 0.0), (39_000.0, 38_200.0)]
    after = {**PRESSURE, **pressure_trims(points, PRESSURE)}
    for read, true in points:
        assert pressure_retrimmed(read, PRESSURE, after) == pytest.approx(true, abs=160)
    with pytest.raises(Implausible, match="three and a half metres of water apart"):
        pressure_trims([(0.0, 0.0), (30_000.0, 29_000.0)], PRESSURE)
