"""Weather from a table: what is read, and what is refused in one go."""

import pytest

from rillsim.garden.weather import Rain
from rillsim.garden.weathertable import BadWeather, read_weather

HEAD = "day_of_year,t_max_c,t_min_c,humidity_max,humidity_min,wind_m_s,sunshine_h,rain_mm"
UCCLE = "187,21.5,12.3,84,63,2.078,9.25,0"


def refused(text: str) -> tuple[str, ...]:
    with pytest.raises(BadWeather) as caught:
        read_weather(text, 50.8)
    return caught.value.mistakes


def test_uccle() -> None:
    """FAO-56 example 18 (6 July) read from a table has its 3.9 mm."""
    weather = read_weather(f"{HEAD}\n{UCCLE}\n", 50.8, 100.0)
    assert weather.reference_mm[0] == pytest.approx(3.88, abs=0.01)


def test_spreadsheets_are_read_too() -> None:
    text = f"\ufeff{HEAD}\r\n{UCCLE}\r\n\r\n188{UCCLE[3:]}\r\n,,,,,,,\r\n"
    assert [day.day_of_year for day in read_weather(text, 50.8).days] == [187, 188]


def test_rain_at_its_hours() -> None:
    text = f"{HEAD},rain_start_h,rain_hours\n187,21,12,84,63,2,5,6.0,22.5,1.5\n"
    assert read_weather(text, 50.8).days[0].rain == (Rain(81000, 5400, 6.0),)


def test_rain_without_hours_is_drawn_and_whole() -> None:
    text = f"{HEAD}\n187,21,12,84,63,2,5,6.0\n"
    days = read_weather(text, 50.8, seed=4).days
    assert days[0].rain_mm == pytest.approx(6.0)
    assert days == read_weather(text, 50.8, seed=4).days
    assert days != read_weather(text, 50.8, seed=5).days


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the weather table is empty"),
        (HEAD, "has a heading but no days"),
        (f"{HEAD},colour\n{UCCLE},1", "unknown column 'colour'"),
        (f"{HEAD},t_max_c\n{UCCLE},1", "column t_max_c is there twice"),
        (f"{HEAD},rain_hours\n{UCCLE},1", "go together"),
        (HEAD.replace("wind_m_s,", ""), "no column wind_m_s"),
        (f"{HEAD}\n187,21.5", "line 2: 2 values for 8 columns"),
        (f"{HEAD}\n187,hot,12,84,63,2,9,0", "line 2, t_max_c: 'hot' is not a number"),
        (f"{HEAD}\n187,nan,12,84,63,2,9,0", "t_max_c: nan is outside -60 to 60"),
        (f"{HEAD}\n187,10,12,84,63,2,9,0", "t_min_c 12 is above t_max_c 10"),
        (f"{HEAD}\n187,21,12,60,63,2,9,0", "humidity_min 63 is above humidity_max 60"),
        (f"{HEAD}\n187,21,12,84,63,-2,9,0", "wind_m_s: -2 is outside 0 to 50"),
        (f"{HEAD}\n187,21,12,84,63,2,20,0", "20 h of sun in a day that has 16.1 h"),
        (f"{HEAD}\n187.5,21,12,84,63,2,9,0", "187.5 is not a whole number"),
        (f'{HEAD}\n"187,21,12', "line 2: not a CSV table"),
        (f"{HEAD}\n{UCCLE}\n{UCCLE}", "day 187 follows day 187"),
        (f"{HEAD},rain_start_h,rain_hours\n187,21,12,84,63,2,5,6,23,2", "runs past midnight"),
        (f"{HEAD},rain_start_h,rain_hours\n187,21,12,84,63,2,5,6,23,0", "in no time"),
    ],
)
def test_refusals(text: str, words: str) -> None:
    (mistake,) = refused(text)
    assert words in mistake


def test_all_mistakes_at_once() -> None:
    mistakes = refused(f"{HEAD}\n187,hot,12,840,63,2,9,0\n188,10,12,84,63,2,30,0\n")
    assert len(mistakes) == 3
    many = refused(HEAD + "\n" + "400,0,0,0,0,99,99,999\n" * 30)
    assert len(many) == 21
    assert many[-1].startswith("and ")


def test_the_year_may_turn() -> None:
    text = f"{HEAD}\n365,9,2,84,63,2,3,0\n1,9,2,84,63,2,3,0\n"
    assert len(read_weather(text, 50.8).days) == 2
