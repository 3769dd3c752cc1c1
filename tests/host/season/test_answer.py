"""What seasons come to: shares of years, bands, pairs; rates, wear and the years of a table."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import ttest_rel

from rillkeeper.errors import RillkeeperError
from rillkeeper.season import words
from rillkeeper.season.answer import answer_of, difference
from rillkeeper.season.chance import Rate, faults_of, read_rates
from rillkeeper.season.wear import Wear, wear_faults
from rillkeeper.season.years import years_of
from rillsim.site import PermitSpec, Site
from tests.host.season.few import season, short_site, store, variant


def test_shares_of_years_and_the_year_in_the_middle() -> None:
    found = variant()
    assert found.band("trips")[1] == 2.0
    assert found.median_trips == [0, 1]
    assert found.years_with("trips", 3.0) == 4
    told = words.sentences(found, 10)
    # 4 of 5 years have at most 4 nights cut or missed: their counts are 1 to 5.
    assert told[0].startswith(
        "In 4 of 5 years no more than 4 of 10 nights are cut short or missed"
    )
    assert "in 4 of 5 years no more than 3 times" in told[4]
    assert "battery is not charged in time (2.0 nights a year" in told[1]
    assert "bigger one" in told[2]


def test_the_permit_counts_what_was_taken() -> None:
    site = replace(short_site(), permit=PermitSpec(season_m3=3.0, taken_m3=0.5))
    assert any("are kept in 3 of 5 years" in one for one in words.sentences(variant(5, site), 10))


def test_the_soil_band_is_that_of_the_years() -> None:
    low, middle, high = variant(10).soil_band()
    assert middle[0] == pytest.approx(np.quantile(range(10), 0.5), abs=1.0)
    assert (low[1], high[1]) == (10.0, 10.0)


def test_differences_are_those_of_the_paired_t_test() -> None:
    """Against scipy's own test on the same pairs."""
    rng = np.random.default_rng(3)
    common = rng.normal(50.0, 20.0, 12)
    more = common + rng.normal(3.0, 2.0, 12)
    kept = store(*([season(0) | {"litres": one} for one in each] for each in (common, more)))
    one, two = (answer_of(name, Site(), kept, place, 11) for place, name in enumerate("ab"))
    found = difference("litres", one, two)
    band = ttest_rel(more, common).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((band.low, band.high))
    assert found.real
    # Not by the spread of the years, which is far wider.
    assert found.high - found.low < np.std(common) / 4.0
    assert difference("litres", one, one).word == "the same"


def test_faults_come_as_often_as_they_should_and_stay_till_somebody_looks() -> None:
    rates = (Rate("hose_burst", 6.0, (0.5, 0.5)), Rate("outlet_shut", 3.0))
    sets = short_site().sets
    found = [faults_of(rates, 120, 1, number, sets, (9 * 3600, 2)) for number in range(200)]
    bursts = [one for each in found for one in each if one.name == "hose_burst"]
    assert len(bursts) == pytest.approx(200 * 6.0 * 120 / 365, rel=0.1)
    assert {one.severity for one in bursts} == {0.5}
    assert all(1 <= one.night <= 120 and 0.0 < one.duration_s <= 2 * 86400 for one in bursts)
    # Another rate, and more nights, change nothing of it.
    alone = faults_of(rates[:1], 120, 1, 7, sets, (9 * 3600, 2))
    assert alone == tuple(one for one in found[7] if one.name == "hose_burst")
    assert all(one.duration_s == 0.0 for one in faults_of(rates, 120, 1, 7, sets, (9 * 3600, 0)))


def test_rates_are_read_with_all_their_mistakes(tmp_path: Path) -> None:
    file = tmp_path / "rates.toml"
    file.write_text("hose_burst = 0.1\n[outlet_shut]\nper_year = 2\nseverity = [0.2, 0.8]\n")
    assert read_rates(file) == (
        Rate("hose_burst", 0.1),
        Rate("outlet_shut", 2.0, (0.2, 0.8)),
    )
    file.write_text("hose_brst = -1\noutlet_shut = true\n[frost]\nper_year = 1\nseverity = 3\n")
    with pytest.raises(RillkeeperError) as caught:
        read_rates(file)
    told = str(caught.value)
    for part in ("did you mean hose_burst", "hose_brst: per_year", "outlet_shut: per_year"):
        assert part in told
    assert "frost: severity is 3" in told


def test_wear_goes_by_the_week() -> None:
    found = wear_faults(Wear(pump=0.4), 28)
    assert [one.night for one in found] == [8, 15, 22]
    assert found[-1].severity == pytest.approx(0.4)
    assert all(one.grows_s == 0.0 and one.duration_s == 7 * 86400 for one in found)
    assert wear_faults(Wear(), 120) == ()


def table(first: str, days: int) -> dict[int, dict[str, float]]:
    begin = (date.fromisoformat(first) - date(1970, 1, 1)).days
    return {
        begin + place: {"t_max": 25.0, "t_min": 12.0, "rain": 4.0 if place % 5 == 0 else 0.0}
        for place in range(days)
    }


def test_years_of_a_table_are_its_own_days() -> None:
    days = table("2020-01-01", 3 * 365)
    site = short_site()
    first = date(2021, 1, 1) + timedelta(days=site.weather.day_of_year - 1)
    gap = (first - date(1970, 1, 1)).days + 5
    for place in range(6):
        del days[gap + place]
    found, left_out = years_of(days, site, 20, 1)
    assert sorted(found) == [2020, 2022]
    assert left_out.startswith("Left out of the table: 2021 (no temperatures on ")
    weather = found[2020]
    assert len(weather.days) == 21
    assert weather.days[0].t_max_c == 25.0
    leap = first.replace(year=2020)
    assert weather.days[0].day_of_year == leap.timetuple().tm_yday
    begin = (leap - date(1970, 1, 1)).days
    rain = sum(days[begin + place]["rain"] for place in range(21))
    assert sum(day.rain_mm for day in weather.days) == pytest.approx(rain)
    with pytest.raises(RillkeeperError, match="no whole season of 300 nights"):
        years_of(table("2020-06-01", 30), site, 300, 1)
