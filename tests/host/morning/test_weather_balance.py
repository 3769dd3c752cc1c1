"""Water given against water used: by hand, cell by cell, and what is not known."""

from dataclasses import replace

import numpy as np
import pytest

from rillkeeper.design.size.watering import usual_map
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.weather import balance, balance_of, read_text
from rillkeeper.site.file import demo_site
from rillsim.garden.uniformity import low_quarter_mean
from tests.host.runlog.sample_log import FIRST_DAY, sample

WEATHER = "date,et0 mm,rain mm\n2026-06-01,5.0,0\n2026-06-02,4.0,1.5\n2026-06-03,6.0,0\n"


def with_weather(text: str) -> Report:
    site = replace(demo_site(), name="plot")
    report = report_of(sample().lines, site)
    return replace(report, balance=balance_of(site, report.nights, read_text(text)))


def test_given_against_used_adds_up() -> None:
    """Lettuce in mid season and wet ground want 1.2 ET0 (FAO-56 eq. 72), the crop 0.9 of it.

    By hand: 12 mm are lacking at first, so the surface is past its 9 mm and dries more slowly:
    0.32 x 7 (1 - exp(-0.3 x 5 / 0.32 / 10)) = 0.84 mm; the crop wants 4.5 mm and has 0.6 mm of
    easy water: 4.3 mm. Night 1 gives 3.2 mm, night 2 gives 0.88 mm, night 3 nothing; rain of
    1.5 mm falls on the second day.
    """
    report = with_weather(WEATHER)
    assert report.balance is not None
    days = report.balance.days
    assert [one.day for one in days] == [FIRST_DAY, FIRST_DAY + 1, FIRST_DAY + 2]
    assert [one.given_mm for one in days] == [3.2, 0.88, 0.0]
    assert [one.wanted_mm for one in days] == pytest.approx([6.0, 4.8, 7.2])
    assert days[0].used_mm == pytest.approx(0.84 + 4.31, abs=0.02)
    assert days[0].deficit_mm == pytest.approx(12.0 + 0.84 + 4.31 - 3.2, abs=0.02)
    for before, after in zip(days, days[1:], strict=False):
        assert before.deficit_mm is not None
        assert after.deficit_mm is not None
        assert after.used_mm is not None
        expected = before.deficit_mm + after.used_mm - (after.given_mm or 0) - (after.rain_mm or 0)
        assert after.deficit_mm == pytest.approx(expected, abs=1e-9)
    assert days[-1].surplus_mm == pytest.approx(
        3.2 + 0.88 + 1.5 - sum(one.used_mm or 0.0 for one in days)
    )


def test_the_driest_quarter_lacks_what_the_pattern_kept_from_it() -> None:
    """After the first night it has got DU of the mean; a crop that lacks more uses less later."""
    report = with_weather(WEATHER)
    assert report.balance is not None
    assert report.site is not None
    spread = usual_map(report.site)
    assert spread.mean() == pytest.approx(1.0)
    first, *rest = report.balance.days
    low_mm = 3.2 * low_quarter_mean(spread)
    assert first.deficit_low_mm == pytest.approx(12.0 + 5.15 - low_mm, abs=0.02)
    for one in rest:
        assert one.deficit_low_mm is not None
        assert one.deficit_mm is not None
        assert one.deficit_low_mm > one.deficit_mm + 0.5


def test_an_even_spray_has_no_driest_quarter(monkeypatch: pytest.MonkeyPatch) -> None:
    """Then the plot is the one bucket that its mean is."""
    cells = {}
    for name, shape in (("many", (7, 5)), ("one", (1,))):
        monkeypatch.setattr(balance, "usual_map", lambda site, shape=shape: np.ones(shape))
        cells[name] = with_weather(WEATHER).balance
    assert cells["many"] is not None
    assert cells["one"] is not None
    for many, one in zip(cells["many"].days, cells["one"].days, strict=True):
        assert many.deficit_mm == pytest.approx(one.deficit_mm, abs=1e-12)
        assert many.deficit_low_mm == pytest.approx(one.deficit_mm, abs=1e-12)
        assert many.used_mm == pytest.approx(one.used_mm, abs=1e-12)


def test_a_crop_past_its_easy_water_uses_less() -> None:
    """FAO-56 eq. 84: from the readily available water on the crop gets less than it asks for."""
    report = with_weather(WEATHER)
    assert report.balance is not None
    last = report.balance.days[-1]
    assert last.deficit_mm is not None
    assert last.deficit_mm > report.balance.stress_mm
    assert last.used_mm is not None
    assert last.wanted_mm is not None
    assert last.used_mm < last.wanted_mm


def test_a_missing_day_is_not_known_from_then_on() -> None:
    report = with_weather("date,et0 mm\n2026-06-01,5.0\n2026-06-03,6.0\n")
    assert report.balance is not None
    first, second, third = report.balance.days
    assert first.deficit_mm is not None
    assert (second.used_mm, second.deficit_mm, second.surplus_mm) == (None, None, None)
    assert (third.used_mm, third.deficit_mm) == (pytest.approx(7.2), None)
    notes = " ".join(report.balance.notes)
    assert "not known on Tue 2 Jun" in notes
    assert "Rain is not in the weather table on Mon 1 Jun, Wed 3 Jun" in notes
