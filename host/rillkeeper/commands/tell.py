"""`rillkeeper clear`, `hold`, `battery` and `relearn`: what a person tells the board."""

import sys
from time import monotonic, sleep

import click

from rillkeeper.board.link import state
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.display_units import counted
from rillkeeper.errors import BoardStopped, UsageMistake

CLEARABLE = ("lockout", "done", "flat")
CLEAR_S = 5.0
_LOOK_S = 0.2
NIGHTS_MAX = 30
CHARGE_MAX_AH = 500.0


@click.command()
@port_option
@click.option("--yes", is_flag=True, help="I have looked; do not ask.")
def clear(port: str | None, yes: bool) -> None:
    """Clear a lockout, or a stop for the night, after looking at pump, lines and relay.

    The board locks out where going on could do harm: the log and `rillkeeper report` say what
    was seen. A flat battery is cleared only when there is charge in it. Status 4 if the board
    stays as it is.

    \b
    Example:
      rillkeeper clear
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        before = state.status(talk)
        if before.state not in CLEARABLE:
            click.echo(f"there is nothing to clear: the board is {before.doing}")
            return
        if not yes:
            if not sys.stdin.isatty():
                raise UsageMistake("nothing cleared, as nobody can be asked; add --yes")
            click.confirm(
                f"the board is {before.doing}; have you looked at pump, lines and relay?",
                abort=True,
            )
        make(talk, "clear")
        begun = monotonic()
        now = state.status(talk)
        while now.state == before.state and monotonic() - begun < CLEAR_S:
            sleep(_LOOK_S)
            now = state.status(talk)
    if now.state == before.state:
        raise BoardStopped(f"the board is still {now.doing}; see rillkeeper log")
    click.echo(f"cleared; the board is {now.doing}")


@click.command()
@click.argument("nights", type=click.IntRange(0, NIGHTS_MAX))
@port_option
def hold(nights: int, port: str | None) -> None:
    """Skip the sets of so many NIGHTS, this one first; 0 ends a hold.

    \b
    Example:
      rillkeeper hold 2
    """
    with Port(choose(port)) as opened:
        make(Talk(opened), f"hold {nights}")
    click.echo(f"the sets of {counted(nights, 'night')} are skipped" if nights else "no hold")


@click.command()
@click.argument("charge_ah", metavar="AH", type=click.FloatRange(0.1, CHARGE_MAX_AH))
@port_option
def battery(charge_ah: float, port: str | None) -> None:
    """Say that a battery with AH ampere-hours in it has been put on.

    A full battery is recognised by its rest voltage; this is for one that is not full.

    \b
    Example:
      rillkeeper battery 38
    """
    with Port(choose(port)) as opened:
        make(Talk(opened), f"battery {round(charge_ah * 1000)}")
    click.echo(f"the board counts on from {charge_ah:g} Ah")


@click.command()
@port_option
def relearn(port: str | None) -> None:
    """Say that nozzle, hose or lift is another: what is normal is learned anew.

    The board then takes the pressure of its next runs for the normal one. Say it only when the
    line is as it should be: a leak that is learned is a leak that is not seen. New settings of
    another line (rillkeeper settings) do the same by themselves.

    \b
    Example:
      rillkeeper relearn
    """
    with Port(choose(port)) as opened:
        make(Talk(opened), "relearn")
    click.echo("what is normal is learned anew in the next runs")
