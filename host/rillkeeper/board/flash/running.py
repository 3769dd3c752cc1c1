"""The firmware that runs on a board, before it makes room for another and after."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from time import monotonic, sleep

from rillkeeper.board.link import state
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.talk import Talk
from rillkeeper.display_units import counted
from rillkeeper.errors import NoBoard, RillkeeperError

SOON_S = 600
"""Nobody begins to flash this shortly before a set."""
START_S = 30.0
"""A board has started and checked its files long before."""
_PUMPING = ("check", "prime", "run", "soak", "rest")


class PumpFirst(RillkeeperError):
    """The pump runs, or is about to: not now."""


@dataclass(frozen=True)
class Running:
    """What a board with a running firmware says."""

    board: str
    version: str
    status: state.Status
    listed: dict[str, tuple[str, int]]
    """Its list of files: path -> (CRC-32, size). Empty where it is damaged, or not told."""


def ask(talk: Talk) -> Running:
    """Ask a firmware, of whatever version, who it is. Raises NoAnswer where none runs."""
    words = talk.ask("id", like="id board=").words("id")
    listed = {}
    answer = talk.ask("files", like="")
    if answer.end == "ok" and not answer.garbled:
        for line in answer.lines:
            _, crc, size, path = line.split(" ", 3)
            listed[path] = (crc, int(size))
    version = words.get("firmware", "?")
    return Running(words.get("board", "?"), version, state.status(talk), listed)


def check_rests(talk: Talk, now: state.Status) -> None:
    """Raise PumpFirst where the pump runs or is about to."""
    if now.relay or now.state in _PUMPING:
        raise PumpFirst(
            f"the board is {now.doing}; wait until the set is over, or end it: rillkeeper stop"
        )
    settings, clock = state.settings(talk), state.board_time(talk).now
    if not settings or clock is None or now.needs_a_person:
        return
    for number in (1, 2, 3):
        if not settings[f"set{number}_unit"]:
            continue
        start_s = settings[f"set{number}_start_s"]
        left_s = (start_s - _second_of(clock)) % 86400
        if left_s <= SOON_S:
            at = clock + timedelta(seconds=left_s)
            raise PumpFirst(
                f"set {number} starts at {at:%H:%M}, in {counted(-(-left_s // 60), 'minute')}; "
                "flash after it, or skip this night first: rillkeeper hold 1"
            )


def await_start(name: str, patience_s: float) -> Running | None:
    """Wait for the firmware of a board that is starting; None when it does not come."""
    end = monotonic() + patience_s
    while monotonic() < end:
        try:
            with Port(name) as port:
                return ask(Talk(port, tries=1))
        except NoBoard:
            sleep(0.3)
    return None


def _second_of(clock: datetime) -> int:
    return (clock.hour * 60 + clock.minute) * 60 + clock.second
