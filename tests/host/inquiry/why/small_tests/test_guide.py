"""The small tests guided at a board: the whole firmware, the plant, and a person with hands."""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from keeper.rules import NAME, RULES
from rillkeeper.board.link.state import Status
from rillkeeper.inquiry.why.answer import headline_of
from rillkeeper.inquiry.why.small_tests.bank import Bank, read_all
from rillkeeper.inquiry.why.small_tests.guide import Guide
from rillkeeper.inquiry.why.small_tests.informed import inform
from rillkeeper.inquiry.why.small_tests.kept import KeptTests, Made, without_tests
from rillkeeper.inquiry.why.small_tests.table import BY_NAME, TESTS, Ask
from rillkeeper.inquiry.why.small_tests.tried import Tried
from rillkeeper.morning.report.report import report_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.store import Archive
from rillsim.faults.catalogue import BY_NAME as FAULTS
from rillsim.faults.conditions import Conditions
from tests.host.board.proof.workbench import Workbench, data_of
from tests.host.inquiry.why.conftest import Bench, fault
from tests.interpreters import rigs

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("why")]


class AtTheDesk:
    """Does with the bench's hands what is said, and reads its meters."""

    def __init__(self, bench: Workbench, stops_at: str = "") -> None:
        self.bench = bench
        self.said: list[str] = []
        self._stops_at = stops_at

    def ready(self, text: str, hands: str) -> None:
        self.said.append(text)
        words = hands.split()
        for what, how in zip(words[::2], words[1::2], strict=True):
            self.bench.hands.do(what, how)
        self.bench.ticks(50)

    def measure(self, ask: Ask) -> float:
        if self._stops_at and self._stops_at in ask.question:
            raise KeyboardInterrupt
        plant = self.bench.plant
        now, circuit = plant.truth(self.bench.n - 1), plant.rig.circuit
        if "posts" in ask.question:
            return round(now.board_v + (now.current_a + circuit.board_a) * circuit.wiring_ohm, 2)
        if "plug" in ask.question:
            return round(now.board_v - now.current_a * circuit.contact_ohm, 2)
        if "reaches" in ask.question:
            return round(now.throw_m, 1)
        self._flow = now.flow_m3_s
        return 0.010 if ask.dimension == "volume" else round(0.010 / self._flow, 0)

    def tell(self, text: str) -> None:
        self.said.append(text)

    def watch(self, now: Status, left_s: float) -> None:
        assert left_s < 1e5


@pytest.fixture(scope="module")
def at_bank(
    need: Callable[[str], Path], tmp_path_factory: pytest.TempPathFactory, bench: Bench
) -> Iterator[Workbench]:
    folder = data_of(tmp_path_factory.mktemp("bank"))
    micropython = need("micropython")
    with Workbench(micropython, rigs.FIRMWARE, folder, bench.site, dict(bench.settings)) as made:
        yield made


def with_fault(at_bank: Workbench, name: str, severity: float) -> None:
    at_bank.mend()
    now = Conditions()
    FAULTS[name].act(now, severity)
    at_bank.plant.turn(at_bank.n, now)


def guided(at_bank: Workbench, archive: Archive, name: str) -> Made:
    session = at_bank.session(archive)
    return Guide(session, archive, AtTheDesk(at_bank), BY_NAME[name]).make()


@pytest.mark.parametrize("name", [test.name for test in TESTS])
def test_each_test_reads_on_the_board_what_the_trial_foretold(
    at_bank: Workbench, bench: Bench, tmp_path: Path, name: str
) -> None:
    """The same fault once through the whole firmware and a person, once through the trial."""
    fault_of, severity = ("air_leak", 0.1) if name == "lift" else ("nozzle_worn", 0.5)
    with_fault(at_bank, fault_of, severity)
    with Archive(tmp_path / "archive.sqlite") as archive:
        made = guided(at_bank, archive, name)
        board = at_bank.session(archive).who.board
        (kept,) = KeptTests(archive).of(board)
        log = read_log(archive.lines(board))
        assert kept.readings == made.readings
        assert "start" in {entry.kind for entry in log.entries}
        spared = without_tests(log, [kept]).entries
        tested = {entry.seq for entry in log.entries} - {entry.seq for entry in spared}
        first = min(entry.seq for entry in log.entries if entry.seq in tested)
        assert all(entry.kind != "start" for entry in spared if entry.seq >= first)
    expected = read_all(Bank(bench.site, bench.settings, [(fault_of, severity)]), [BY_NAME[name]])
    for reading in BY_NAME[name].readings:
        value = made.readings[reading.key]
        assert value is not None
        assert value == pytest.approx(expected[reading.key], abs=2.0 * reading.noise), reading.key
    now = at_bank.session(Archive(tmp_path / "after.sqlite")).status()
    assert not now.relay
    assert now.state == "idle"


def test_a_shut_tap_is_the_boards_own_stop_and_locks_nothing(
    at_bank: Workbench, tmp_path: Path
) -> None:
    with_fault(at_bank, "pump_worn", 0.0)
    pumped = at_bank.pumped_ticks
    with Archive(tmp_path / "archive.sqlite") as archive:
        guided(at_bank, archive, "tap")
        board = at_bank.session(archive).who.board
        (kept,) = KeptTests(archive).of(board)
        lines = archive.lines(board)
        entries = read_log(lines).entries
    tested = [entry for entry in entries if (entry.seq, entry.day, entry.second) in kept.records]
    trips = [RULES[entry["rule"]][NAME] for entry in tested if entry.kind == "trip"]
    assert trips == ["dead head"]
    bare, made = report_of(lines), report_of(lines, tests=[kept])
    gone = [event.entry for event in bare.events if event.entry not in tested]
    assert [event.entry for event in made.events] == gone, "nobody looks for a shut tap"
    assert "line shut" in {event.told.short for event in bare.events if event.entry in tested}
    assert (bare.notes, made.log.missing) == ([], 0)
    assert f"(tap of {kept.made[:10]}" in made.notes[-1]
    assert at_bank.pumped_ticks - pumped <= 40
    assert at_bank.plant.handled.tap == 1.0


def test_ctrl_c_stops_the_pump_and_keeps_no_reading(at_bank: Workbench, tmp_path: Path) -> None:
    with_fault(at_bank, "pump_worn", 0.0)
    with Archive(tmp_path / "archive.sqlite") as archive:
        session = at_bank.session(archive)
        person = AtTheDesk(at_bank, stops_at="plug")
        with pytest.raises(KeyboardInterrupt):
            Guide(session, archive, person, BY_NAME["volts"]).make()
        assert not session.status().relay
        (kept,) = KeptTests(archive).of(session.who.board)
        assert not kept.readings
        assert kept.records, "no night is judged by what was broken off"


@pytest.mark.parametrize(
    ("name", "severity", "cause"),
    [("relay_worn", 0.3, "relay worn"), ("hose_kinked", 0.75, "hose kinked or crushed")],
)
def test_what_the_nights_cannot_tell_the_test_does(
    at_bank: Workbench, bench: Bench, tmp_path: Path, name: str, severity: float, cause: str
) -> None:
    """A week with the fault leaves several causes; the test that `why` names leaves the true
    one first, and surer than before."""
    before = bench.judge(bench.week(312, fault(name, severity)))
    assert len(before.first) > 1
    now, small = inform(Tried(bench.site, bench.settings), before)
    assert small is not None
    assert small.best is not None
    assert now.first == before.first
    with_fault(at_bank, name, severity)
    with Archive(tmp_path / "archive.sqlite") as archive:
        made = guided(at_bank, archive, small.best.test.name)
    late = Made(made.test, made.made, before.findings[0].since + 1, made.readings)
    after, told = inform(Tried(bench.site, bench.settings), before, [late])
    assert told is not None
    assert after.findings[0].cause.name == cause, headline_of(after).sentence
    chance = {one.cause.name: one.probability for one in before.findings}
    assert after.findings[0].probability > max(0.6, chance[cause])
    assert np.isfinite(small.best.bits)
    assert small.best.test.name not in {one.test.name for one in told.worths}
