"""Seasons of weather: the same for a seed, and in their statistics as years are."""

import numpy as np
import pytest

from rillsim.garden.seasonweather import draw_season, spec_on
from rillsim.garden.weather import Weather
from rillsim.site import WeatherSpec

SPEC = WeatherSpec(day_of_year=1, rain_chance=0.3)
YEARS = 30


@pytest.fixture(scope="module")
def years() -> list[Weather]:
    return [draw_season(SPEC, 365, 1, number) for number in range(YEARS)]


def wet_days(years: list[Weather]) -> np.ndarray:
    return np.array([[day.rain_mm > 0.0 for day in year.days] for year in years])


def test_a_season_is_the_same_whatever_else_is_asked_for(years: list[Weather]) -> None:
    again = draw_season(SPEC, 365, 1, 7)
    assert again.days == years[7].days
    assert draw_season(SPEC, 30, 1, 7).days == years[7].days[:30]
    assert draw_season(SPEC, 365, 2, 7).days != years[7].days
    assert years[6].days != years[7].days


@pytest.mark.published
def test_wet_days_come_in_rows_as_in_all_climates(years: list[Weather]) -> None:
    """Geng, Penning de Vries and Supit (1986): p(wet after dry) = 0.75 f, p(wet after wet) =
    0.25 + p(wet after dry), where f is the share of wet days, found at stations from the
    Philippines to the Netherlands."""
    wet = wet_days(years)
    share = wet.mean()
    before, after = wet[:, :-1].ravel(), wet[:, 1:].ravel()
    assert share == pytest.approx(SPEC.rain_chance, rel=0.1)
    assert after[~before].mean() == pytest.approx(0.75 * share, abs=0.02)
    assert after[before].mean() == pytest.approx(0.75 * share + 0.25, abs=0.03)


def test_months_have_their_means(years: list[Weather]) -> None:
    """What is drawn is what it was drawn around, month by month, and the year's total of rain."""
    warmth = np.array([[day.t_max_c for day in year.days] for year in years])
    for month in range(12):
        span = slice(30 * month, 30 * month + 30)
        usual = np.mean([spec_on(SPEC, offset).t_max_c for offset in range(365)[span]])
        assert warmth[:, span].mean() == pytest.approx(usual, abs=0.9)
    totals = np.array([sum(day.rain_mm for day in year.days) for year in years])
    assert totals.mean() == pytest.approx(365 * SPEC.rain_chance * SPEC.rain_mm, rel=0.1)


MONTHS_C = (-1.5, -0.3, 3.5, 9.7, 14.3, 17.7, 19.7, 19.1, 14.0, 8.9, 4.1, 0.1)
"""Mean temperature of each month at 52.2 degrees north, inland: Warsaw, climatological normals of
the WMO, 1991 to 2020 (from memory)."""


@pytest.mark.published
def test_the_months_of_a_station_come_from_its_july() -> None:
    """Only July is told; April to October must come to within what one year differs by. By the
    sea they would not: its winters are milder than the rule has them."""
    july = WeatherSpec(latitude_deg=52.2, day_of_year=196, t_max_c=25.2, t_min_c=14.2)
    years = [draw_season(july, 365, 2, number) for number in range(YEARS)]
    mean_c = np.array([[(day.t_max_c + day.t_min_c) / 2.0 for day in year.days] for year in years])
    days = np.array([day.day_of_year for day in years[0].days])
    for month in range(3, 10):
        of_month = np.abs(days - (15 + 30.4 * month)) <= 15
        assert mean_c[:, of_month].mean() == pytest.approx(MONTHS_C[month], abs=1.5), month + 1


def test_no_two_years_are_alike(years: list[Weather]) -> None:
    """Of the chain alone the number of wet days would spread as a chain's does, the variance of a
    binomial times (1 + 0.25) / (1 - 0.25): that is 11 days. Years of the world spread more."""
    counts = wet_days(years).sum(axis=1)
    chain = np.sqrt(365 * 0.3 * 0.7 * 1.25 / 0.75)
    assert counts.std() > 1.5 * chain


def test_the_south_is_warm_when_the_north_is_cold() -> None:
    north, south = (WeatherSpec(latitude_deg=sign * 45.0, day_of_year=201) for sign in (1, -1))
    assert spec_on(north, 182).t_max_c < north.t_max_c - 15.0
    assert spec_on(south, 182).t_max_c > south.t_max_c + 15.0
