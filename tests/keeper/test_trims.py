"""Calibration: trims beside the scales, so that new settings of a site leave them as they are."""

import pytest

from keeper import Settings
from keeper.sense import GOOD, Senses
from keeper.settings import SCHEMA, problems

from .bench import SITE


def senses(**trims: int) -> Senses:
    return Senses(Settings({**SITE, **trims}))


def battery_mv(count: int, **trims: int) -> int:
    made = senses(**trims)
    assert made.battery.read(count, 100, False) == GOOD
    return int(made.battery.value)


def pressure_pa(count: int, **trims: int) -> int:
    made = senses(**trims)
    made.pressure.read(count, 100, False)
    return int(made.pressure.value)


def test_the_battery_follows_gain_and_offset() -> None:
    """By hand: 2500 counts of 4096 at 20480 mV are 12500 mV; at 20980 mV 12805 mV."""
    assert battery_mv(2500) == 12500
    assert battery_mv(2500, battery_full_trim_mv=500) == 12805
    assert battery_mv(2500, battery_full_trim_mv=500, battery_offset_mv=-5) == 12800


def test_the_pressure_follows_zero_and_span() -> None:
    """By hand: a count is 1 MPa / 2500 = 400 Pa; with 100 counts more in the span 384.6 Pa."""
    zero = Settings(SITE).pressure_zero_count
    assert pressure_pa(zero + 1000) == 400_000
    assert pressure_pa(zero + 1000, pressure_zero_trim_count=10) == 396_000
    assert pressure_pa(zero + 1000, pressure_span_trim_count=100) == pytest.approx(384_615, abs=8)
    assert pressure_pa(zero, pressure_zero_trim_count=-10) == 4_000


def test_the_bands_stay_where_the_voltage_is() -> None:
    plain, trimmed = senses(), senses(battery_full_trim_mv=500, battery_offset_mv=100)
    assert trimmed.battery.high_count < plain.battery.high_count
    high_mv = Settings(SITE).battery_high_band_mv
    shown = (trimmed.battery.high_count * 20980 >> 12) + 100
    assert high_mv - 6 <= shown <= high_mv


def test_a_trim_must_leave_the_bands_in_reach() -> None:
    full, high = 18000, 17500
    base = {**SITE, "battery_full_mv": full, "battery_high_band_mv": high}
    assert problems(base) == []
    (found,) = problems({**base, "battery_full_trim_mv": -500})
    assert found == "battery_full_trim_mv: the converter now ends at 17500 mV, inside the band"
    assert problems({**base, "battery_full_trim_mv": -500, "battery_offset_mv": 1}) == []
    (found,) = problems({**base, "battery_high_band_mv": full - 1, "battery_full_trim_mv": -1})
    assert found.startswith("battery_full_trim_mv: the converter now ends at 17999 mV")
    (found,) = problems({**base, "battery_high_band_mv": full})
    assert not found.startswith("battery_full_trim_mv"), "nothing was trimmed"
    low = {**SITE, "pressure_low_band_count": 380, "pressure_zero_count": 410}
    assert problems({**low, "pressure_zero_trim_count": -29}) == []
    (found,) = problems({**low, "pressure_zero_trim_count": -30})
    assert found.startswith("pressure_zero_trim_count: no pressure would read as")


@pytest.mark.parametrize(
    ("more", "scale"),
    [
        # From 410 counts to the band's 3997 at 1000 kPa in 1793: 2000 kPa, the most.
        ({"pressure_zero_count": 408}, {"pressure_zero_trim_count": 2}),
        ({"pressure_span_count": 1791}, {"pressure_span_trim_count": 2}),
    ],
)
def test_a_trim_counts_in_what_the_channel_can_show(
    more: dict[str, int], scale: dict[str, int]
) -> None:
    base = {**SITE, "pressure_high_band_count": 3997, "pressure_span_count": 1793, **more}
    (found,) = problems(base)
    assert found.startswith("pressure_high_band_count: stands for 200")
    assert problems({**base, **scale}) == []


def test_no_product_leaves_31_bits() -> None:
    """The largest battery scale and the longest count; the widest span at the top count."""
    most = {row[0]: row[3] for row in SCHEMA}
    assert 4095 * (most["battery_full_mv"] + most["battery_full_trim_mv"]) < 1 << 30
    assert (4095 + most["pressure_zero_trim_count"]) * most["pressure_span_kpa"] * 125 < 1 << 30
