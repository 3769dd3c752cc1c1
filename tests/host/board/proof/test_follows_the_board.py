"""A step follows the board: where the pump has stopped, nobody is told to shut a tap any more."""

from collections.abc import Mapping
from dataclasses import replace

from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.minutes import TYPICAL
from rillkeeper.board.proof.outcome import FAILED
from rillkeeper.board.proof.runner import Walker
from rillkeeper.board.proof.step import Step
from rillkeeper.board.proof.steps import BY_ID
from rillkeeper.runlog.lines import Entry

IDLE = Status(
    state="idle", relay=0, trouble="", pressure_pa=0, battery_mv=12600, left_mah=30000,
    load_on=0, contacts=0, unasked=0, oldest=0, next=0, waiting=0, lost=0, log_failed=False,
    slowest_ms=0, passed_over=0, relay_failed=False,
)  # fmt: skip
RUN_LOOKS = 5


class Board:
    """Runs for a few looks, and then its time is over; nobody has shut the tap."""

    def __init__(self) -> None:
        self.settings: Mapping[str, int] = TYPICAL
        self.looks = 0
        self.at_s = 0.0
        self.started = False

    def status(self) -> Status:
        if not self.started or self.looks > RUN_LOOKS:
            return IDLE
        self.looks += 1
        return replace(IDLE, state="run", relay=1, pressure_pa=145000)

    def new_entries(self) -> list[Entry]:
        if self.looks != RUN_LOOKS + 1:
            return []
        self.looks += 1
        numbers = {"cause": 0, "on_s": 120, "pressure_pa": 0, "battery_mv": 0, "used_mah": 0}
        return [Entry(1, 20643, 81000, True, "stop", {**numbers, "given_ml": 0}, 20643)]

    def start(self, minutes: int) -> None:
        self.started = True

    def begin_trial(self, values: Mapping[str, int], seconds: int) -> None:
        """Nothing is on trial here."""

    def be_there(self) -> None:
        """It is."""

    def clock_s(self) -> float:
        return self.at_s

    def sleep(self, seconds: float) -> None:
        self.at_s += seconds


class Person:
    """Reads, and is too slow."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def ready(self, step: Step, text: str) -> None:
        """At once."""

    def tell(self, step: Step, text: str) -> None:
        self.told.append(text)

    def watch(self, step: Step, line: str) -> None:
        """Looks on."""


def test_a_run_that_is_over_ends_the_step() -> None:
    board, person = Board(), Person()
    outcome = Walker(BY_ID["dead-head"], board, person).start()
    assert outcome.result == FAILED
    assert outcome.note == "the pump had stopped by then: do it sooner"
    assert person.told == ["Shut the tap, within a second or two."]
    assert board.at_s < 10.0, "and not after the two minutes that a person has"
