"""Water that nobody has measured follows the weather of the site file."""

import pytest

from rillkeeper.site.file import read_site
from rillsim.site import WaterSource
from rillsim.water.season import water_c

BOARD = "".join(
    f'{channel} = "fitted"\n'
    for channel in ("battery", "pressure", "load_sense", "rain", "button", "frost", "current")
)


def temperature_c(text: str) -> float:
    return read_site(f"{text}\n[board]\n{BOARD}").water.temperature_c


def test_the_regression() -> None:
    """Stefan and Preud'homme (1993): 5.0 + 0.75 of the air, from memory; ice is 0 C."""
    assert water_c(0.0) == 5.0
    assert water_c(16.0) == 17.0
    assert water_c(-8.0) == 0.0


@pytest.mark.parametrize(
    ("text", "found_c"),
    [
        ('[weather]\nt_max = "12 C"\nt_min = "2 C"', 10.25),
        ('[weather]\nt_max = "12 C"\nt_min = "2 C"\n[water]\ntemperature = "14 C"', 14.0),
        ('[weather]\nwind = "2 m/s"', WaterSource().temperature_c),
        ('[water]\nlift = "1 m"', WaterSource().temperature_c),
    ],
)
def test_what_is_said_goes_first(text: str, found_c: float) -> None:
    assert temperature_c(text) == pytest.approx(found_c)
