"""What people write in a site file and a strict reader would refuse, and the answers."""

import pytest

from rillkeeper.errors import SiteError
from rillkeeper.site.file import read_site
from rillkeeper.units import format as in_words
from rillsim.site import PumpSheet
from tests.host.site.test_sitefile import BOARD, mistakes_of


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("lift = 2.4 m", 'line 2: lift = 2.4 m: quotes are missing; write: lift = "2.4 m"'),
        ("lift = 7 ft 10 in  # by tape", 'write: lift = "7 ft 10 in"'),
        ("fall = 7'10\"", "write: fall = '7'10\"'"),
        ("covered = yes", "line 2: covered = yes: not a word of this file; write: covered = true"),
        ("start = 22:30", 'write: start = "22:30"'),
    ],
)
def test_missing_quotes_are_offered(line: str, told: str) -> None:
    with pytest.raises(SiteError) as caught:
        read_site(f"[water]\n{line}\n{BOARD}")
    assert told in str(caught.value)


def test_all_missing_quotes_come_at_once() -> None:
    text = '[water]\nlift = 2.4 m\nfall = "2 cm/d"\n[line]\nlength = 30 m\nfittings_k = 2.5\n'
    with pytest.raises(SiteError) as caught:
        read_site(text + BOARD)
    assert [(one.line, one.path) for one in caught.value.mistakes] == [(2, "lift"), (5, "length")]


def test_a_mistake_says_its_line() -> None:
    text = "[water]\nlift = '1.4 m'\n\n[[set]]\nstart = '22:30'\n[[set]]\nstart = '25:00'\n"
    found = mistakes_of(text + "[suction]\nbore = '3/4 furlong'\n")
    assert found["set[2].start"].startswith('line 7: set[2].start = "25:00": not a time of day')
    assert found["suction.bore"].startswith('line 9: suction.bore = "3/4 furlong": ')


def test_a_refusal_that_rests_on_a_default_says_so() -> None:
    found = mistakes_of("[water]\nlift = '4 m'\n[suction]\nfoot_valve = 'none'\nlength = '6 m'\n")
    told = found["water.lift"]
    assert told.startswith('line 2: water.lift = "4 m": without a foot valve')
    dry_lift = in_words(PumpSheet().dry_lift_m, "length")
    assert f"(pump.dry_lift is by default {dry_lift})" in told
    found = mistakes_of("[suction]\nlength = '0.6 m'\n[water]\nlift = '2 m'\n")
    assert "the default" not in found["suction.length"]
    found = mistakes_of("[weather]\nt_max = '2 C'\n")
    assert "(the default: the file does not say)" in str(found)


@pytest.mark.parametrize(
    ("written", "plain"),
    [("'yes'", "true"), ("'No'", "false"), ("true", "true")],
)
def test_yes_and_no_as_people_write_them(written: str, plain: str) -> None:
    text = "[pump]\npressure_switch = {}\n"
    assert read_site(text.format(written) + BOARD) == read_site(text.format(plain) + BOARD)
    fitted = BOARD.replace('"fitted"', written).replace('"not fitted"', written)
    assert read_site(fitted).board.pressure_fitted == (plain == "true")


@pytest.mark.parametrize("written", ["'22:30'", "'10:30 pm'", "'22.30'", "'22h30'", "22:30:00"])
def test_a_time_as_people_write_it(written: str) -> None:
    assert read_site(f"[[set]]\nstart = {written}\n{BOARD}").sets[0].start_s == 81000.0


def test_what_is_fixed_must_be_a_key() -> None:
    assert read_site(f'fixed = "cable.length, pump.open_flow"\n{BOARD}').fixed
    found = mistakes_of('fixed = "cable.lenght"\n')
    assert 'no key "cable.lenght"' in found["fixed"]
    assert found["fixed"].endswith("nearest: cable.length")
