"""What the small tests tell, held against the plant: known pairs, parted by the right test."""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.why.causes import CAUSES
from rillkeeper.inquiry.why.small_tests import tried as tried_module
from rillkeeper.inquiry.why.small_tests.bank import Bank, read_all
from rillkeeper.inquiry.why.small_tests.expected import (
    Expected,
    Margins,
    Suspect,
    expected,
)
from rillkeeper.inquiry.why.small_tests.informed import _unsafe
from rillkeeper.inquiry.why.small_tests.table import BY_NAME, TESTS
from rillkeeper.inquiry.why.small_tests.tried import Tried
from rillkeeper.inquiry.why.small_tests.worth import posteriors, worth_of, worths
from rillkeeper.site.change import value_of, with_value
from rillkeeper.site.file import demo_site
from rillsim.site import Site

MODES = {mode.key: (cause, mode) for cause in CAUSES for mode in cause.modes}
Fault = tuple[str, float]
PAIRS: list[tuple[Fault, Fault, str]] = [
    (("sprinkler_blocked", 0.15), ("hose_kinked", 0.75), "throw"),
    (("pump_worn", 0.35), ("air_leak", 0.1), "lift"),
    (("hose_burst", 0.2), ("nozzle_worn", 0.5), "tap"),
    (("corroded_clamp", 0.07), ("relay_worn", 0.2), "volts"),
    (("battery_offset", 0.3), ("corroded_clamp", 0.07), "volts"),
    (("pump_worn", 0.35), ("nozzle_worn", 0.5), "bucket"),
]
"""Moderate faults that look alike to two sensors, and the test that must part them best."""


@cache
def settings() -> dict[str, int]:
    return settings_of(demo_site())


@cache
def tried() -> Tried:
    return Tried(demo_site(), settings())


@cache
def pair(one: Fault, other: Fault) -> Expected:
    suspects = []
    for key, severity in (one, other):
        cause, mode = MODES[key]
        suspects.append(Suspect(cause.name, 0.5, mode, severity))
    return expected(tried(), suspects)


def off_its_file() -> Site:
    """The demonstration site as it might really be: each within what its owner cannot know."""
    site = demo_site()
    site = with_value(
        site, "sprinkler.nozzle_bore", value_of(site, "sprinkler.nozzle_bore") * 0.99
    )
    site = with_value(site, "pump.open_flow", value_of(site, "pump.open_flow") * 1.03)
    return with_value(site, "line.bore", value_of(site, "line.bore") * 1.02)


@pytest.mark.parametrize(("one", "other", "name"), PAIRS)
def test_the_best_test_parts_the_pair_in_the_plant(one: Fault, other: Fault, name: str) -> None:
    """On a site that differs from its file: its readings make the true cause the likelier."""
    found = pair(one, other)
    order = worths(found, demo_site().board)
    assert order[0].test.name == name
    assert order[0].right_after > 0.8 > order[0].right_now
    test = BY_NAME[name]
    for place, (fault, severity) in enumerate((one, other)):
        read = read_all(Bank(off_its_file(), settings(), [(fault, severity)]), [test])
        seen = np.array([[read[reading.key] for reading in test.readings]])
        after = posteriors(found, test, np.array([0.5, 0.5]), seen)[:, 0]
        assert after[place] > 0.6, (fault, after)


def test_a_test_that_nothing_moves_is_worth_nothing() -> None:
    """Volts cannot tell a kink from a blocked sprinkler: both only load the pump more."""
    found = pair(*PAIRS[0][:2])
    assert worth_of(found, BY_NAME["volts"]).bits < 0.02
    assert worth_of(found, BY_NAME["throw"]).bits > 0.4


def test_information_is_that_of_two_normal_distributions() -> None:
    """Against a sum done apart: the mutual information of a fair coin seen through noise.

    By the definition of mutual information (Cover and Thomas, Elements of Information Theory, from
    memory), on a fine grid, for means two deviations apart.
    """
    test = BY_NAME["throw"]
    noise = test.readings[0].noise
    suspects = (Suspect("one", 0.5, None), Suspect("other", 0.5, None))
    rows = tuple({"throw": 2.0 + apart * noise} for apart in (0.0, 2.0))
    found = Expected(suspects, np.array([0, 1]), np.ones(2), rows, Margins(rows[0], ()))
    x = np.linspace(-8.0, 10.0, 20001)
    density = [np.exp(-0.5 * (x - mean) ** 2) / np.sqrt(2.0 * np.pi) for mean in (0.0, 2.0)]
    mixed = 0.5 * (density[0] + density[1])
    parts = [0.5 * d * np.log2(np.maximum(d, 1e-300) / mixed) for d in density]
    exact = float(np.trapezoid(parts[0] + parts[1], x))
    assert worth_of(found, test).bits == pytest.approx(exact, abs=0.05)


def test_no_test_of_the_sound_site_trips_more_than_the_dead_head() -> None:
    """All limits are the board's own: a start against the shut tap ends by the dead-head rule,
    far below the rating, and nothing is locked."""
    bank = Bank(demo_site(), settings())
    read_all(bank)
    trips = [trip.rule for run in bank.runs for trip in run.trips]
    assert trips == ["dead head"]
    tops = [run.stop.pressure_pa or 0 for run in bank.runs if run.stop]
    assert max(tops) < 0.8 * settings()["rating_pa"]
    assert bank.board.keeper.locked() == 0
    shut = next(run for run in bank.runs if run.trips)
    assert shut.stop is not None
    assert shut.stop.on_s <= 3


def test_a_shut_tap_near_the_pumps_rating_is_not_asked_for() -> None:
    """By the highest pressure of any likely cause; the command itself refuses it as well."""
    one, other, _ = PAIRS[2]
    found = pair(one, other)
    top_pa = float(np.exp(max(row["rise"] for row in found.rows)))
    for rating_pa, unsafe in ((1.26 * top_pa, set()), (1.24 * top_pa, {"tap"})):
        assert _unsafe(found, {**settings(), "rating_pa": round(rating_pa)}) == unsafe


def test_each_test_has_its_cautions_and_units() -> None:
    for test in TESTS:
        assert test.caution
        assert test.walk_min > 0
        assert test.readings
        assert all(reading.noise > 0 for reading in test.readings)
    assert len({one.key for test in TESTS for one in test.readings}) == sum(
        len(test.readings) for test in TESTS
    )


def test_a_board_without_pressure_is_asked_for_what_needs_none() -> None:
    board = demo_site().board.__class__(pressure_fitted=False)
    assert {test.name for test in TESTS if test.fits(board)} == {"volts", "throw"}


def test_a_trial_is_made_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was kept comes back, and a file that was spoiled is not believed."""
    mode = MODES["nozzle_worn"][1]
    first = Tried(demo_site(), settings(), tmp_path)
    sound, worn = first.sound(), first.with_fault(mode, 0.5)
    first.keep()
    (file,) = tmp_path.iterdir()
    asked: list[str] = []
    monkeypatch.setattr(tried_module, "read_all", lambda bank: asked.append("again") or sound)
    again = Tried(demo_site(), settings(), tmp_path)
    assert again.with_fault(mode, 0.5) == worn
    assert not asked
    file.write_text(file.read_text().replace("0.", "1.", 1))
    Tried(demo_site(), settings(), tmp_path).sound()
    assert asked == ["again"]


def test_another_trouble_on_the_site_is_read_too() -> None:
    """A bad clamp beside what is asked: each trial has it, and is kept for itself."""
    beside = tried().beside([("corroded_clamp", 0.1)])
    assert beside.sound()["drop"] > tried().sound()["drop"] + 0.2
    worn = MODES["nozzle_worn"][1]
    assert beside.with_fault(worn, 0.5)["drop"] > tried().with_fault(worn, 0.5)["drop"] + 0.2
