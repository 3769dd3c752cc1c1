"""A gardener's morning, walked: the log read while it waters, the report, why, the calendar; the
battery carried home on the day that stands in the phone; a charged one back, and it waters again.

The calendar is read by a library of others (icalendar), as a phone would.
"""

import json
from collections.abc import Callable
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest

from rillkeeper.data_folder import data_folder
from rillkeeper.inquiry.why import cache
from rillkeeper.site.file import load_site
from rillsim.site import FaultSpec
from tests.host.board.link.desk import Desk
from tests.host.board.link.virtual import say, state
from tests.host.inquiry.why.conftest import Bench, known_bench

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("why")]

FIRST = date(2026, 7, 9)
AT_HOME = """
[home]
every_nights = 2
away_from = "08:30"
back_at = "17:30"
"""


@pytest.fixture
def site_file(data: Path) -> Path:
    """Short sets, and the troubles of such a site known already: `why` need not try them out."""
    bench: Bench = known_bench()
    file = data / "plot.toml"
    file.write_text(bench.text + AT_HOME, encoding="utf-8")
    known = (
        data_folder() / cache.FOLDER / f"{cache.key_of(load_site(str(file)), bench.settings)}.json"
    )
    cache.save(bench.signatures, known)
    return file


def told(*words: str) -> str:
    """What a command says, where it has gone well; in lines as long as they are."""
    result = say(*words)
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def report(*words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(say("report", "--json", *words).stdout)
    return found


def trips(file: Path) -> list[tuple[date, time, time]]:
    """Day, leaving and return of each trip home in a calendar."""
    events = icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    spans = [
        (event.decoded("dtstart"), event.decoded("dtend"))
        for event in events
        if str(event["summary"]).startswith("Battery home")
    ]
    return [(begins.date(), begins.time(), ends.time()) for begins, ends in spans]


def test_a_morning(need: Callable[[str], Path], data: Path, site_file: Path) -> None:
    phone = data / "plot.ics"
    part_charged = FaultSpec("flat_battery", 1, -8 * 3600.0, 0.3)
    with Desk(need("micropython"), data, site_file, part_charged) as desk:
        # In the evening, out of curiosity, while the first run goes on.
        desk.go_to(0, "22:31")
        assert state()["relay"] == 1
        assert "Run 1 starts" in told("log")
        evening = told("report", "--quick")
        assert "The pump was running when the log was read." in evening
        assert "this is the board's count, divided by" in evening
        assert "not known: no day" not in evening
        assert state()["relay"] == 1, "reading does not disturb it"

        # In the morning: what was it, and is all well?
        desk.go_to(1, "08:00")
        assert "The run ends after" in told("log")
        morning = told("report", "--calendar", str(phone))
        assert "The garden got its full water that night." in morning
        assert "battery not full" in morning, "it was put on part charged"
        assert "battery not full" in told("why")
        assert "battery not full" in told("status")
        home, leaves, returns = trips(phone)[0]
        assert (home, leaves, returns) == (FIRST + timedelta(days=2), time(8, 30), time(17, 30))
        assert f"{home:%a} {home.day} {home:%b}" in morning, "the paper says the day too"

        # On that day it goes home, and in the evening a charged one is on the clamps.
        day = (home - FIRST).days
        desk.go_to(day, "07:30")
        before_mah = state()["left_mah"]
        desk.go_to(day, "18:00")
        assert state()["left_mah"] > before_mah
        assert "The battery was charged or changed" in told("log")
        document = report("--calendar", str(phone), "--quick")
        assert document["coming"]["first_night"] == home.isoformat(), "tonight is still to come"
        assert trips(phone)[0][0] == home + timedelta(days=2)
        put_on = [one for one in document["events"] if one["short"] == "battery charged"]
        assert [one["night_of"] for one in put_on] == [home.isoformat()]

        # And it waters again.
        desk.go_to(day + 1, "08:00")
        assert "gave" in told("log")
        last = report()
        assert last["nights"][-1]["night_of"] == home.isoformat()
        assert last["nights"][-1]["share_given"] >= 0.97
        assert last["troubles"]["open"] == []
        answer = last["verdict"]["water"]["answer"]
        assert answer == "The garden got its full water on all of 3 nights."
