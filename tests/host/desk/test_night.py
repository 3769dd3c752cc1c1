"""A night with a fault: what the board reads and says, beside what really is."""

from typing import Any

import pytest

from rillkeeper.desk.night import fault_of, faults, try_night
from rillkeeper.site.change import with_value
from rillkeeper.site.file import demo_site, read_site
from rillsim.faults.catalogue import CATALOGUE
from tests.host.desk.serving import DEMO_TEXT, Open

DEMO = demo_site()
SHORT_TEXT = DEMO_TEXT.replace('depth = "6 mm"', 'run = "4 min"')
SHORT = read_site(SHORT_TEXT)
"""Four minutes of pumping: a whole night of it takes a second or two to replay."""


@pytest.fixture(scope="module")
def shut() -> dict[str, Any]:
    return try_night(DEMO, fault_of("outlet_shut", 10, 1))


def test_the_board_says_what_was_done_to_it(shut: dict[str, Any]) -> None:
    assert shut["fault"]["felt"]
    at = shut["fault"]["at"]
    stops = [one for one in shut["told"] if one["level"] == "stop"]
    assert [one["clock"] for one in stops] == ["22:45"], "after a try and a rest"
    assert "tap at the sprinkler" in stops[0]["words"]
    before = [one for one in shut["told"] if one["t"] < at]
    assert all(one["level"] in ("routine", "note") for one in before)


def test_its_readings_follow_what_really_is(shut: dict[str, Any]) -> None:
    at = shut["fault"]["at"]
    running = [one for one in shut["frames"] if one["on"] and one["t"] < at - 1]
    assert len(running) > 30
    for one in running[5:]:
        assert one["reads"][0] == pytest.approx(one["is"][0], abs=0.1)
        assert one["reads"][1] == pytest.approx(one["is"][1], abs=0.15)
        assert one["throw"] > 5.0
        assert one["does"] == "pumping"
    after = [one for one in shut["frames"] if at + 5 < one["t"] < at + 60]
    assert after
    assert all(one["flow"] == 0.0 and one["throw"] == 0.0 for one in after)
    times = [one["t"] for one in shut["frames"]]
    assert times == sorted(times)
    assert times[-1] <= 86_400


def test_a_sensor_that_lies_is_seen_beside_the_truth() -> None:
    """A transducer that is stuck: what the board reads parts from what is."""
    found = try_night(SHORT, fault_of("pressure_offset", -60, 1))
    off = max(abs(one["reads"][0] - one["is"][0]) for one in found["frames"] if one["on"])
    assert off > 0.1


def test_a_sound_night_tells_of_no_stop() -> None:
    found = try_night(SHORT, None)
    assert found["fault"] is None
    assert all(one["level"] != "stop" for one in found["told"])
    assert any("gave" in one["words"] for one in found["told"])


def test_the_catalogue_is_the_list_to_choose_from() -> None:
    assert [one["name"] for one in faults()] == [fault.name for fault in CATALOGUE]


@pytest.mark.parametrize(
    ("given", "path"),
    [
        ({"fault": "outlet_shutt", "minutes": 10, "severity": 1}, "fault.name"),
        ({"fault": "outlet_shut", "minutes": 1e9, "severity": 1}, "fault.offset"),
        ({"fault": "outlet_shut", "minutes": "x", "severity": 1}, "fault.offset"),
        ({"fault": "outlet_shut", "minutes": 10, "severity": 2}, "fault.severity"),
        ({"fault": "outlet_shut", "minutes": 10, "severity": -0.5}, "fault.severity"),
        ({"fault": "outlet_shut", "minutes": 10}, "fault.severity"),
        ({}, "fault.name"),
    ],
)
def test_what_cannot_be_is_told_at_its_field(
    desk: Open, given: dict[str, object], path: str
) -> None:
    found = desk.ask("night", id=desk.sheet(), changes={}, **given)
    assert found.status == 400
    assert path in [one["path"] for one in found.table["mistakes"]]


def test_a_site_without_limits_says_why_it_has_no_night(desk: Open) -> None:
    lift = {"water.lift": "2.8 m"}
    found = desk.ask("night", id=desk.sheet(), changes=lift, fault="none")
    assert found.status == 400
    assert "lower the pump" in found.table["error"]


def test_a_night_is_of_the_site_as_it_is_drawn(desk: Open) -> None:
    narrow = with_value(SHORT, "sprinkler.nozzle_bore", 4e-3)
    changes = {"sprinkler.nozzle_bore": "4 mm"}
    found = desk.ask("night", id=desk.sheet(SHORT_TEXT), changes=changes, fault="none").table
    assert found == try_night(narrow, None)
    assert found["told"] != try_night(SHORT, None)["told"]
