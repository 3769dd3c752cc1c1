"""The pump's table in the site file, and what cannot be one."""

import pytest

from rillkeeper.errors import SiteError
from rillkeeper.site.file import read_site

BOARD = """
[board]
battery = "fitted"
pressure = "fitted"
load_sense = "fitted"
rain = "fitted"
button = "fitted"
frost = "fitted"
current = "not fitted"
[[set]]
run = "30 min"
"""
ROWS = (("0 psi", "5.5 gal/min", "8 A"), ("30 psi", "4.4 gal/min", "13 A"))
LAST = ("60 psi", "3.6 gal/min", "17 A")


def written(*rows: tuple[str, str, str], more: str = "") -> str:
    tables = [
        f'[[pump_row]]\npressure = "{p}"\nflow = "{q}"\ncurrent = "{a}"\n' for p, q, a in rows
    ]
    return BOARD + more + "".join(tables)


def test_a_table_gives_the_four_figures() -> None:
    pump = read_site(written(LAST, *ROWS)).pump
    assert [round(row[0] / 6894.757) for row in pump.points] == [0, 30, 60]
    assert pump.open_current_a == 8.0
    assert pump.max_current_a == 17.0
    assert pump.shutoff_pa == pytest.approx(60 * 6894.757)
    assert read_site(BOARD).pump.points == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (written(*ROWS), "too few rows"),
        (written(*ROWS, ROWS[1]), "too few rows"),
        (written(ROWS[1], LAST, ("45 psi", "4 gal/min", "15 A")), "no row with an open outlet"),
        (written(*ROWS, LAST, more='[pump]\nshutoff = "60 psi"\n'), "beside shutoff"),
        (written(*ROWS, ("60 psi", "3.6 gal/min", "7 A")), "not a pump's table"),
        (written(*ROWS, ("50 psi", "1 gal/min", "14 A"), LAST), "beside the pump"),
    ],
)
def test_refused(text: str, says: str) -> None:
    with pytest.raises(SiteError, match=says):
        read_site(text)
