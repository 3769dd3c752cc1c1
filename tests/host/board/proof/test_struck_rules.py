"""Each rule struck from the firmware's table once: its step must then fail.

The firmware is a copy whose table has one row that is watched in no state; all else is as it is.
"""

import shutil
from pathlib import Path
from typing import Any

import pytest

from keeper.rules import NAME, RULES
from rillkeeper.board.proof.outcome import FAILED, PASSED, Outcome
from rillkeeper.board.proof.records import ProofRecords
from rillkeeper.board.proof.runner import walk
from rillkeeper.board.proof.steps import BY_ID, NOT_ON_SITE, STEPS
from rillkeeper.runlog.store import Archive
from tests.host.board.proof.conftest import MakeBench
from tests.host.board.proof.script import ScriptedPerson
from tests.interpreters import rigs

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("proof, struck rules")]

STRIKE = """
_BEHIND = WATCHED_IN + 1
RULES = tuple([
    row[:WATCHED_IN] + ("",) + row[_BEHIND:] if row[NAME] == "{rule}" else row for row in RULES
])
"""
PROVING = [step for step in STEPS if step.rule]
BEFORE = {"no-prime": "dry-run"}
"""Steps that begin where another one has ended."""


class Copy:
    """A copy of the firmware in which files are changed, each time from what they are.

    A board has its own on its flash from its first start, so that one copy serves all.
    """

    def __init__(self, folder: Path) -> None:
        self.firmware = folder / "firmware"
        shutil.copytree(rigs.FIRMWARE, self.firmware, ignore=shutil.ignore_patterns("__pycache__"))
        self._changed: set[str] = set()

    def without(self, rule: str) -> Path:
        """The firmware without this rule, and otherwise as it is."""
        for name in self._changed:
            shutil.copyfile(rigs.FIRMWARE / "keeper" / name, self.firmware / "keeper" / name)
        self._changed = {"rules.py"}
        with (self.firmware / "keeper" / "rules.py").open("a", encoding="utf-8") as table:
            table.write(STRIKE.format(rule=rule))
        return self.firmware

    def change(self, name: str, before: str, after: str) -> None:
        """Besides, other words in a file of the control package."""
        file = self.firmware / "keeper" / name
        text = file.read_text(encoding="utf-8")
        assert before in text
        self._changed.add(name)
        file.write_text(text.replace(before, after), encoding="utf-8")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Copy:
    return Copy(tmp_path_factory.mktemp("struck"))


def fitting(step_id: str) -> dict[str, Any]:
    if step_id in ("stall", "bad-current"):
        return {"current_fitted": True}
    if step_id == "relay-stuck":
        return {"second_relay_fitted": True}
    if step_id in ("no-flow", "bad-meter"):
        return {"flow_fitted": True}
    return {"load_sense_fitted": False} if "!load_sense" in BY_ID[step_id].needs else {}


def walked(make_bench: MakeBench, folder: Path, firmware: Path, step_id: str) -> Outcome:
    bench = make_bench(firmware, **fitting(step_id))
    path = folder / "a.sqlite"
    with Archive(path) as archive:
        records = ProofRecords(archive)
        session = bench.session(archive)
        person = ScriptedPerson(bench)
        if step_id in BEFORE:
            walk(BY_ID[BEFORE[step_id]], session, person, records)
        outcome = walk(BY_ID[step_id], session, person, records)
        assert session.status().relay == 0
        assert session.status().state == "idle"
    return outcome


def test_there_is_a_step_for_every_rule() -> None:
    """Or a reason why there can be none."""
    proved = {step.rule for step in PROVING}
    assert not proved & set(NOT_ON_SITE)
    assert proved | set(NOT_ON_SITE) == {row[NAME] for row in RULES}


@pytest.mark.parametrize("step_id", [step.id for step in PROVING])
def test_without_its_rule_the_step_fails(
    step_id: str, copy: Copy, make_bench: MakeBench, tmp_path: Path
) -> None:
    outcome = walked(make_bench, tmp_path, copy.without(BY_ID[step_id].rule), step_id)
    assert outcome.result == FAILED, outcome


@pytest.mark.parametrize("step_id", ["dead-head", "no-prime"])
def test_a_copy_with_another_rule_struck_passes(
    step_id: str, copy: Copy, make_bench: MakeBench, tmp_path: Path
) -> None:
    """What fails above is the rule, not the copy."""
    outcome = walked(make_bench, tmp_path, copy.without("frost"), step_id)
    assert outcome.result == PASSED, outcome


def test_a_relay_that_opens_too_late_fails(
    copy: Copy, make_bench: MakeBench, tmp_path: Path
) -> None:
    """The firmware waits twice as long as its settings say."""
    firmware = copy.without("frost")
    copy.change("guard.py", "held_ms >= hold_ms", "held_ms >= 2 * hold_ms")
    outcome = walked(make_bench, tmp_path, firmware, "dead-head")
    assert (outcome.result, outcome.note) == (FAILED, "it came too late")


def test_a_board_that_starts_by_itself_when_power_is_back_fails(
    copy: Copy, make_bench: MakeBench, tmp_path: Path
) -> None:
    """A firmware that takes a loss of power for a wish to pump."""
    firmware = copy.without("frost")
    judged = "        facts.judged = 1\n"
    copy.change(
        "core.py", judged, judged + "        if self.cause:\n            self.hand.ask(2, 1)\n"
    )
    outcome = walked(make_bench, tmp_path, firmware, "power-lost")
    assert outcome.result == FAILED
    assert outcome.note.startswith("it did not wait")
