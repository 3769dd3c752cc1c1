"""The campaign's sound nights: what is a false stop, and what is none."""

import pytest

from rillkeeper.design.limits import water
from rillkeeper.design.limits.working_site import WorkingSite
from tests.campaign import nights


def test_sound_nights_are_counted_with_a_bound() -> None:
    sound = nights.attempt("1")
    assert nights.PART.verdict("1", sound) == "sound", sound
    assert sound["tried"] == nights.NIGHTS
    refusal = {"tried": 0, "refused": "drawn site 9: no safe limits: 3 bar are 0.2 bar too much"}
    refusal["buy"] = "a nozzle"
    stop = {"tried": 7, "stops": [["trip no sag", "set ended by no sag"]], "untold": 0}
    stop["site"] = "agm"
    rows = {"1": sound, "9": refusal, "5": stop}
    assert [nights.PART.verdict(case, row) for case, row in rows.items()] == [
        "sound",
        "refused",
        "false stop",
    ]
    told = nights.summary(rows)
    assert told[0].startswith("14 nights of 20000 wanted, 1 with a false stop: at most 29.673 %")
    assert "Stops: 1 trip no sag." in told
    assert "Refused: 1 no safe limits: .. bar are .. bar too much." in told
    assert told[1].startswith("1 of 3 drawn sites refused")


def test_a_frost_that_there_was_is_no_false_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three mornings of 1.2 to 1.7 C in May; in a mild May they would be false."""
    cold = "6001417"
    row = nights.attempt(cold)
    assert nights.PART.verdict(cold, row) == "sound", row
    monkeypatch.setattr(nights, "COLD_C", -10.0)
    row = nights.attempt(cold)
    assert nights.PART.verdict(cold, row) == "false stop"
    assert row["stops"] == [["trip frost", "set ended by frost"]] * 3


def test_a_site_beside_its_file_is_not_stopped_for_a_shut_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A nozzle, a pump and a hose each some per cent off: a sixth more pressure than reckoned."""
    beside = "40005"
    assert nights.is_owned(int(beside))
    row = nights.attempt(beside)
    assert nights.PART.verdict(beside, row) == "sound", row
    monkeypatch.setattr(water, "SOUND_ROOM", 1.2)
    monkeypatch.setattr(water, "OFF_ROOM", 1.0)
    row = nights.attempt(beside)
    assert nights.PART.verdict(beside, row) == "false stop"
    assert {word for each in row["stops"] for word in each} >= {"trip dead head"}


def test_a_site_with_two_relays_is_not_stopped_at_its_starts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With one of both closed in the trial of a start, its peak was that of the standing line."""
    with_two = [seed for seed in range(14) if nights.draw(seed).board.second_relay_fitted]
    assert with_two == [6, 13]
    assert nights.has_two_relays(69)
    row = nights.attempt("69")
    assert nights.PART.verdict("69", row) == "sound", row
    monkeypatch.setattr(WorkingSite, "start_peak_pa", WorkingSite.static_pa)
    assert nights.PART.verdict("69", nights.attempt("69")) == "false stop"


def test_a_nozzle_and_a_pump_that_are_off_to_one_side_are_no_shut_line() -> None:
    """Seed 12002727: a nozzle 5 % narrower than its sheet, a pump that gives 6 % more."""
    row = nights.attempt("12002727")
    assert nights.PART.verdict("12002727", row) == "sound", row


@pytest.mark.parametrize("seed", ["8", "17"])
def test_a_sound_night_with_a_flow_meter(seed: str) -> None:
    """A wheel that is a little off, on a site that is not as its file says, or is."""
    assert nights.draw(int(seed)).board.flow_fitted
    assert not nights.draw(int(seed) - 1).board.flow_fitted
    row = nights.attempt(seed)
    assert row["tried"]
    assert nights.PART.verdict(seed, row) == "sound", row


def test_a_night_that_is_not_as_stepped_through_is_a_failure(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert not nights.attempt("10")["unlike"]
    told = iter(("set ended by complete", "stop by complete"))
    monkeypatch.setattr(nights, "words_of", lambda log: next(told))
    row = nights.attempt("10")
    assert nights.PART.verdict("10", row) == nights.UNLIKE


def test_a_refusal_names_what_to_buy() -> None:
    """Seed 71: a stiff half-inch hose that a shut tap fills past the rating within two ticks."""
    row = nights.attempt("71")
    assert "climbs" in row["refused"]
    assert "a hose of 15.9 mm bore" in row["buy"]
    assert nights.PART.verdict("71", row) == "refused"
    assert nights.PART.verdict("71", row | {"buy": ""}) == "refused for good"
    assert nights.PART.told("71", row) == row["refused"]


def test_a_start_far_above_normal_has_the_limit_that_a_board_takes_or_none() -> None:
    """The peak at 2.0 times the normal pressure, and at 2.24: a board takes no limit above 2.5."""
    row = nights.attempt("8000053")
    assert nights.PART.verdict("8000053", row) == "sound", row
    row = nights.attempt("8000249")
    assert "a start comes to 1.23 bar" in row["refused"]
    assert "a nozzle of 5.8 mm" in row["buy"]


def test_a_small_battery_is_tried_for_the_nights_that_it_lasts() -> None:
    row = nights.attempt("92")
    assert 0 < row["tried"] < nights.NIGHTS
    assert nights.PART.verdict("92", row) == "sound", row


@pytest.mark.parametrize(
    ("found", "of", "most"),
    [(0, 3000, 0.000998), (1, 14, 0.296734), (3, 3, 1.0)],
)
def test_the_bound(found: int, of: int, most: float) -> None:
    """0 of n: 1 - 0.05^(1/n); 1 of 14: the p at which (1-p)^14 + 14 p (1-p)^13 is 0.05."""
    assert nights.at_most(found, of) == pytest.approx(most, rel=1e-3)
