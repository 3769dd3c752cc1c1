"""Every small test rehearsed on a terminal, with the hands of a virtual board and nothing else."""

import os
import re
import select
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from rillkeeper.cli import cli
from tests.host.board.link.virtual import Running
from tests.host.board.proof.on_terminal import OnTerminal
from tests.patience import CEILING_S

pytestmark = [
    pytest.mark.interpreter,
    pytest.mark.slow,
    pytest.mark.xdist_group("virtual board"),
]

SPEED = "60"
HAND = re.compile(r"Virtual board: rillkeeper hand ([^\r\n]*)\r?\n")
METERS = {
    "posts": r"battery's posts: ([\d.]+) V",
    "pump's plug": r"plug under load: \+([\d.]+) V",
    "reaches": r"the spray reaches ([\d.]+ m)",
}
ENDS = {
    "volts": "are lost",
    "throw": "the spray reaches",
    "bucket": "times what this pressure should",
    "tap": "before the board stopped it",
    "lift": "times what it was",
    "rest": "times as long to prime",
}


@pytest.fixture(scope="module")
def data(need: Callable[[str], Path], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    need("micropython")
    folder = tmp_path_factory.mktemp("data")
    running = Running(folder, "--speed", SPEED, "--fault", "nozzle_worn@1-8h:0.5")
    yield folder
    running.close()


class Walk:
    """One test on its terminal, and who answers it."""

    def __init__(self, data: Path, name: str, wrong: tuple[str, ...] = ()) -> None:
        os.environ["XDG_DATA_HOME"] = str(data)
        self._wrong = list(wrong)
        self._seen = ""
        self.told = ""
        terminal = OnTerminal(data, "test", name)
        new = ""
        while select.select([terminal.end], [], [], CEILING_S)[0]:
            try:
                more = os.read(terminal.end, 65536).decode(errors="replace")
            except OSError:  # It has ended.
                break
            if not more:
                break
            self.told += more
            new += more
            while found := HAND.search(new):
                new = new[found.end() :]
                self._hand(found[1])
            answer = self._answer(new)
            if answer is not None:
                terminal.type(answer)
                new = ""
        self.status = terminal.wait()

    def _hand(self, words: str) -> None:
        result = CliRunner().invoke(cli, ["hand", *words.split()], prog_name="rillkeeper")
        assert result.exit_code == 0, (words, result.output)
        if words == "--look":
            self._seen = result.stdout

    def _answer(self, new: str) -> str | None:
        if not new.endswith(": "):
            return None
        if new.endswith("when it is so: "):
            return ""
        if self._wrong:
            return self._wrong.pop(0)
        for question, meter in METERS.items():
            if question in new:
                found = re.search(meter, self._seen)
                assert found, self._seen
                return found[1]
        flow = re.search(r"Nozzle: ([\d.]+) L/min", self._seen)
        assert flow, self._seen
        return "10 L" if "Litres" in new else f"{600.0 / float(flow[1]):.0f}"


@pytest.mark.parametrize("name", ENDS)
def test_a_test_is_rehearsed_whole(data: Path, name: str) -> None:
    wrong = ("abc", "-3 V", "900 V") if name == "volts" else ()
    walked = Walk(data, name, wrong)
    assert walked.status == 0, walked.told
    assert ENDS[name] in walked.told, walked.told
    assert "(sound: " in walked.told, walked.told
    assert "Caution: " in walked.told
    assert "Stand clear: " in walked.told
    assert "Traceback" not in walked.told
    if wrong:
        assert "must be over 0 and at most 20 V" in walked.told
    state = CliRunner().invoke(cli, ["status", "--json"], prog_name="rillkeeper").stdout
    assert '"relay": 0' in state or '"relay": false' in state, state


def test_without_a_person_or_a_name_it_says_so() -> None:
    for words, told in (
        (["test"], "which test? one of volts"),
        (["test", "taps"], 'no test "taps"'),
        (["test", "tap"], "needs a person"),
    ):
        result = CliRunner().invoke(cli, words, prog_name="rillkeeper")
        assert result.exit_code == 2
        assert told in result.stderr
