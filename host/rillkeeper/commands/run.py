"""`rillkeeper run` and `rillkeeper stop`: the pump by hand, from the desktop."""

from collections.abc import Callable
from time import monotonic, sleep

import click

from keeper.hand import MINUTES_MAX
from rillkeeper.board.link import state
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.errors import BoardStopped, RillkeeperError

START_S = 15.0
"""A start looks at its readings first; it may take some seconds."""
OPEN_S = 5.0
_LOOK_S = 0.2
_CAN_START = ("idle", "done")


class NotStarted(RillkeeperError):
    """The pump was asked to run, and does not."""


@click.command()
@click.argument("minutes", type=click.IntRange(1, MINUTES_MAX))
@port_option
def run(minutes: int, port: str | None) -> None:
    """Start the pump by hand for so many MINUTES.

    All protections are at work, as in the night. Be near enough to see the water; `stop` or
    the board's button ends it sooner. Status 4 when the board will not pump until a person has
    acted.

    \b
    Example:
      rillkeeper run 10
    """
    with Port(choose(port)) as opened:
        click.echo(start(Talk(opened), minutes))


def start(talk: Talk, minutes: int, hurry: Callable[[], bool] = lambda: False) -> str:
    """Start the pump, and say so. Raises BoardStopped or NotStarted where it does not run.

    ``hurry``: something waits that must not wait for what comes of the start.
    """
    now = state.status(talk)
    if now.needs_a_person:
        raise BoardStopped(now.needs_a_person)
    if now.state == "flat":
        raise BoardStopped(f"the board is {now.doing}; put a charged one on")
    if now.state not in _CAN_START:  # There a second start would count as a stop.
        raise NotStarted(f"the board is {now.doing}; end that first: rillkeeper stop")
    make(talk, f"run {minutes}", repeatable=False)
    before = now.records

    def is_decided(seen: state.Status) -> bool:
        """The wish was taken up, which gives a record, and the check is over."""
        decided = seen.records != before and seen.state != "check"
        return bool(seen.relay) or decided or hurry()

    now = _wait(talk, START_S, is_decided)
    if not now.relay:
        raise NotStarted(f"the pump did not start: the board is {now.doing}; see rillkeeper log")
    return f"the pump runs, for {minutes} min at most: {now.doing}"


@click.command()
@port_option
def stop(port: str | None) -> None:
    """Stop whatever is going on, and see the relay open.

    \b
    Example:
      rillkeeper stop
    """
    with Port(choose(port)) as opened:
        click.echo(halt(Talk(opened)))


def halt(talk: Talk) -> str:
    """Stop whatever is going on, and say so. Raises BoardStopped where the pump works on."""
    make(talk, "stop")
    now = _wait(talk, OPEN_S, lambda seen: not seen.relay)
    if now.relay:
        raise BoardStopped("the relay is still closed: hand switch off now")
    if now.load_on:
        raise BoardStopped(
            "the relay was told to open, but the pump's wire is live: hand switch off now"
        )
    return f"stopped, the relay is open; the board is {now.doing}"


def _wait(
    talk: Talk, patience_s: float, seen_enough: Callable[[state.Status], bool]
) -> state.Status:
    """Look at the board until it is as wanted, or patience ends."""
    begun = monotonic()
    while True:
        now = state.status(talk)
        if seen_enough(now) or monotonic() - begun > patience_s:
            return now
        sleep(_LOOK_S)
