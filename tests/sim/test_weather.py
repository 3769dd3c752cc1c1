"""The drawn week: the same for a seed, true to what it was drawn around, whole in its sums."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rillsim.garden import fao56, radiation
from rillsim.garden.weather import DAY_S, WARMEST_S, Day, Rain, Weather
from rillsim.garden.weatherdraw import LAG, NOISE, SAME_DAY, draw_weather
from rillsim.site import WeatherSpec

SPEC = WeatherSpec()


def long_draw(**changes: float) -> Weather:
    return draw_weather(WeatherSpec(**changes), days=4000, seed=7)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def years() -> Weather:
    return long_draw()


def column(weather: Weather, name: str) -> np.ndarray:
    return np.array([getattr(day, name) for day in weather.days])


def test_same_seed_same_bytes() -> None:
    assert repr(draw_weather(SPEC, 7, 3).days) == repr(draw_weather(SPEC, 7, 3).days)
    assert draw_weather(SPEC, 7, 3).days != draw_weather(SPEC, 7, 4).days


def test_a_week_is_the_start_of_a_longer_one() -> None:
    assert draw_weather(SPEC, 10, 3).days[:7] == draw_weather(SPEC, 7, 3).days


def test_autoregression_is_consistent() -> None:
    """Richardson (1981): A M0 A' + B B' = M0, and A M0 = M1 with his printed lag-1 table."""
    printed = [[0.621, 0.445, 0.087], [0.563, 0.674, -0.100], [0.015, -0.091, 0.251]]
    assert LAG @ SAME_DAY @ LAG.T + NOISE @ NOISE.T == pytest.approx(SAME_DAY, abs=1e-3)
    assert pytest.approx(np.array(printed), abs=2e-3) == LAG @ SAME_DAY


@pytest.mark.parametrize(
    ("name", "mean", "tolerance"),
    [
        ("t_max_c", SPEC.t_max_c, 0.3),
        ("t_min_c", SPEC.t_min_c, 0.3),
        ("humidity_max", SPEC.humidity_max, 1.0),
        ("humidity_min", SPEC.humidity_min, 1.0),
        ("wind_m_s", SPEC.wind_m_s, 0.04),
        ("sunshine", SPEC.sunshine, 0.03),
        ("rain_mm", SPEC.rain_chance * SPEC.rain_mm, 0.12),
    ],
)
def test_means_are_kept(years: Weather, name: str, mean: float, tolerance: float) -> None:
    assert column(years, name).mean() == pytest.approx(mean, abs=tolerance)


def test_wet_days_come_in_rows(years: Weather) -> None:
    """Geng et al. (1986): a wet day after a dry one has 0.75 of the chance of any day."""
    wet = column(years, "rain_mm") > 0.0
    assert wet.mean() == pytest.approx(SPEC.rain_chance, abs=0.02)
    assert wet[1:][~wet[:-1]].mean() == pytest.approx(0.75 * SPEC.rain_chance, abs=0.02)
    assert wet[1:][wet[:-1]].mean() == pytest.approx(0.75 * SPEC.rain_chance + 0.25, abs=0.06)


def test_days_hang_together(years: Weather) -> None:
    t_max, t_min = column(years, "t_max_c"), column(years, "t_min_c")
    wet = column(years, "rain_mm") > 0.0
    assert np.corrcoef(t_max, t_min)[0, 1] == pytest.approx(0.6, abs=0.1)
    assert np.corrcoef(t_max[1:], t_max[:-1])[0, 1] == pytest.approx(0.6, abs=0.1)
    assert t_max[wet].mean() < t_max[~wet].mean() - 2.0
    assert column(years, "sunshine")[wet].mean() < 0.6 * column(years, "sunshine")[~wet].mean()


def most_mm(latitude_deg: float, day: Day) -> float:
    """Bound of FAO-56 eq. 6: all the sun of space, and the air term in an endless storm."""
    sun_mm = 0.408 * radiation.extraterrestrial_mj_m2(latitude_deg, day.day_of_year)
    t_mean_c = (day.t_max_c + day.t_min_c) / 2.0
    saturation = fao56.saturation_mean_kpa(day.t_max_c, day.t_min_c)
    return sun_mm + 900.0 / 0.34 / (t_mean_c + 273.0) * saturation


@settings(max_examples=40, deadline=None)
@given(
    st.builds(
        WeatherSpec,
        latitude_deg=st.floats(-85.0, 85.0),
        day_of_year=st.integers(1, 365),
        t_max_c=st.floats(2.0, 45.0),
        t_min_c=st.floats(-20.0, 1.9),
        humidity_max=st.floats(50.0, 100.0),
        humidity_min=st.floats(5.0, 50.0),
        wind_m_s=st.floats(0.0, 10.0),
        sunshine=st.floats(0.0, 1.0),
        rain_chance=st.floats(0.0, 1.0),
        rain_mm=st.floats(0.0, 50.0),
    ),
    st.integers(0, 2**32),
)
def test_any_season_gives_days_that_can_be(spec: WeatherSpec, seed: int) -> None:
    weather = draw_weather(spec, 7, seed)
    for day in weather.days:
        assert day.t_min_c < day.t_max_c
        assert 0.0 < day.humidity_min <= day.humidity_max <= 100.0
        assert 0.0 <= day.sunshine <= 1.0
        assert day.wind_m_s >= 0.0
        ends = 0
        for spell in day.rain:
            assert ends <= spell.start_s
            assert spell.depth_mm >= 0.0
            ends = spell.start_s + spell.duration_s
        assert ends <= DAY_S
    for day, depth_mm in zip(weather.days, weather.reference_mm, strict=True):
        assert 0.0 <= depth_mm <= most_mm(spec.latitude_deg, day)
    total = sum(day.rain_mm for day in weather.days)
    assert weather.rain_mm(0.0, 7.0 * DAY_S) == pytest.approx(total)
    whole = weather.evaporation_mm(0.0, 7.0 * DAY_S)
    assert whole == pytest.approx(sum(weather.reference_mm))


def test_hours_add_up_to_the_day() -> None:
    weather = draw_weather(SPEC, 3, 5)
    hours = [weather.evaporation_mm(h * 3600.0, (h + 1) * 3600.0) for h in range(72)]
    for number, depth in enumerate(weather.reference_mm):
        assert sum(hours[24 * number : 24 * number + 24]) == pytest.approx(depth)
    assert hours[0] == hours[2] == hours[23] == 0.0
    assert max(hours[:24]) == pytest.approx(hours[12])
    assert 0.1 < hours[12] / weather.reference_mm[0] < 0.15


def test_temperature_passes_through_its_turns() -> None:
    weather = draw_weather(SPEC, 4, 5)
    for number, day in enumerate(weather.days):
        assert weather.air_c(number * DAY_S + WARMEST_S) == pytest.approx(day.t_max_c)
        hour = [weather.air_c(number * DAY_S + s) for s in range(0, WARMEST_S, 300)]
        assert min(hour) == pytest.approx(day.t_min_c, abs=0.05)
    every = np.array([weather.air_c(s) for s in range(-DAY_S, 5 * DAY_S, 60)])
    assert np.abs(np.diff(every)).max() < 0.1
    assert every.min() >= min(day.t_min_c for day in weather.days)


def test_frost_on_a_cold_night() -> None:
    weather = draw_weather(WeatherSpec(day_of_year=100, t_max_c=11.0, t_min_c=0.5), 30, 2)
    nights = [min(weather.air_c(n * DAY_S + h * 1800) for h in range(18)) for n in range(30)]
    assert any(t < -1.0 for t in nights)
    assert any(t > 1.0 for t in nights)


def test_wind_falls_at_night_and_keeps_its_mean() -> None:
    weather = draw_weather(SPEC, 2, 5)
    day = [weather.wind_m_s(s) for s in range(0, DAY_S, 600)]
    assert np.mean(day) == pytest.approx(weather.days[0].wind_m_s)
    assert weather.wind_m_s(2 * 3600) == pytest.approx(0.4 * weather.days[0].wind_m_s)
    assert weather.wind_m_s(14 * 3600) == pytest.approx(1.6 * weather.days[0].wind_m_s)


def test_air_is_damp_at_dawn() -> None:
    weather = draw_weather(SPEC, 2, 5)
    assert weather.humidity(5 * 3600) > weather.humidity(WARMEST_S) + 20.0
    assert all(0.0 < weather.humidity(s) <= 100.0 for s in range(0, 2 * DAY_S, 1800))


def test_rain_falls_in_its_spell_and_nowhere_else() -> None:
    dry = draw_weather(WeatherSpec(rain_chance=0.0), 1, 1).days[0]
    day = Day(**{**vars(dry), "rain": (Rain(3600, 7200, 6.0),)})
    weather = Weather([dry, day], 46.0)
    begin = DAY_S + 3600
    assert weather.rain_mm(0.0, begin + 1800) == pytest.approx(1.5)
    assert weather.rain_edges_s() == [begin, begin + 7200]
    assert weather.rain_mm(begin + 7200, 9.0 * DAY_S) == 0.0


def test_the_year_turns() -> None:
    days = draw_weather(WeatherSpec(day_of_year=364), 4, 1).days
    assert [day.day_of_year for day in days] == [364, 365, 1, 2]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"latitude_deg": 91.0}, "give -90 to 90"),
        ({"day_of_year": 0}, "give 1 to 366"),
        ({"t_min_c": 30.0}, "is not under the highest"),
        ({"humidity_min": 90.0}, "give a lowest above 0 %"),
        ({"rain_chance": 1.5}, "give shares from 0 to 1"),
        ({"wind_m_s": -1.0}, "neither may be below 0"),
        ({"sunshine": float("nan")}, "give shares from 0 to 1"),
    ],
)
def test_refusals(changes: dict[str, float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        draw_weather(WeatherSpec(**changes), 7, 1)  # type: ignore[arg-type]


def test_no_days() -> None:
    with pytest.raises(ValueError, match="at least one"):
        draw_weather(SPEC, 0, 1)
    with pytest.raises(ValueError, match="at least one"):
        Weather([], 46.0)
