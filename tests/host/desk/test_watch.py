"""A board that is watched: over the link of the command line, by one writer to a port."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.board.link import ports
from rillkeeper.board.link.ports import held, holder_of
from rillkeeper.desk.watch import wish_of
from rillkeeper.errors import RillkeeperError
from tests.host.board.link.virtual import Running, say
from tests.host.desk.serving import Open, served
from tests.patience import until


@pytest.mark.parametrize(
    ("what", "number"),
    [("run", 0), ("run", -1), ("run", 10**9), ("hold", -1), ("hold", 31), ("erase", 1), ("", 0)],
)
def test_a_wish_that_there_is_not_is_refused(what: str, number: int) -> None:
    with pytest.raises(RillkeeperError, match="run for 1 to"):
        wish_of(what, number)


def test_without_a_board_nothing_is_asked_of_one(desk: Open) -> None:
    found = desk.ask("do", what="stop", number=0)
    assert found.status == 400
    assert "no board is watched" in found.table["error"]


def test_who_has_a_port_is_known_while_it_is_so(data: Path) -> None:
    assert holder_of("/dev/pts/77") == ""
    with held("/dev/pts/77", "rillkeeper desk"):
        assert holder_of("/dev/pts/77").startswith("`rillkeeper desk` (process ")
        assert holder_of("/dev/pts/78") == ""
    assert holder_of("/dev/pts/77") == ""
    (data / "rillkeeper" / ports.HELD_NOTES / "999999999").write_text("/dev/pts/77\nx")
    assert holder_of("/dev/pts/77") == "", "whoever wrote that has died"


@pytest.mark.interpreter
def test_a_virtual_board_is_watched_and_does_as_it_is_told(
    start: Callable[..., Running],
    data: Path,
) -> None:
    running = start("--at", "21:00", "--speed", "20")
    path = running.path
    with served(data / "archive.db") as desk:
        assert [one["name"] for one in json.loads(desk.get("ports").body)] == [path]
        seen = desk.ask("watch", port=path).table
        assert (seen["problem"], seen["state"], seen["pumps"]) == ("", "idle", False)
        assert {one["words"] for one in seen["limits"]["pressure"]} >= {"dry below", "shut above"}

        busy = say("status")
        assert busy.exit_code == 3
        assert "`rillkeeper desk` (process " in busy.stderr

        assert desk.ask("do", what="run", number=5).table["said"].startswith("the pump runs")
        until(lambda: json.loads(desk.get("board").body)["pumps"])
        again = desk.ask("do", what="run", number=5)
        assert (again.status, "end that first" in again.table["error"]) == (400, True)
        assert desk.ask("do", what="stop", number=0).table["said"].startswith("stopped")
        assert "nothing to clear" in desk.ask("do", what="clear", number=0).table["said"]
        assert (
            desk.ask("do", what="hold", number=2).table["said"]
            == "the sets of 2 nights are skipped"
        )
        until(lambda: "on hold" in desk.get("board").body.decode())
        last = json.loads(desk.get("board").body)
        assert len(last["samples"]) > 1
        assert max(row[1] for row in last["samples"]) > 0.5, "it has seen the run"

        assert desk.ask("watch").table == {}
        assert say("status").exit_code == 0, "the port is free again"
        assert desk.get("board").table == {}

        assert desk.ask("watch", port=path).table["problem"] == ""
        running.end()
        until(lambda: json.loads(desk.get("board").body)["problem"])
        found = desk.ask("do", what="stop", number=0)
        assert found.status == 400
        assert path in found.table["error"], "it was unplugged"
        assert desk.ask("watch", port=path).status == 400, "it is not in the list any more"
