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
CHARGE_MIN_AH, CHARGE_MAX_AH = 0.1, 500.0
_MISSED_MAH = 100
"""What the pump may take between the wish and the look."""


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
        click.echo(clear_from(talk, before))


def clear_from(talk: Talk, before: state.Status) -> str:
    """Clear what the board was found in, and say so. Raises BoardStopped where it stays so."""
    make(talk, "clear")
    begun = monotonic()
    now = state.status(talk)
    while now.state == before.state and monotonic() - begun < CLEAR_S:
        sleep(_LOOK_S)
        now = state.status(talk)
    if now.state == before.state:
        raise BoardStopped(f"the board is still {now.doing}; see rillkeeper log")
    return f"cleared; the board is {now.doing}"


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
        click.echo(hold_for(Talk(opened), nights))


def hold_for(talk: Talk, nights: int) -> str:
    """Skip the sets of so many nights, and say so."""
    make(talk, f"hold {nights}")
    return f"the sets of {counted(nights, 'night')} are skipped" if nights else "no hold"


class _Charge(click.ParamType[float]):
    """Ampere-hours, or "full"."""

    name = "charge"

    def convert(
        self, value: str | float, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        if value == "full":
            return 0.0
        try:
            charge_ah = float(value)
        except ValueError:
            charge_ah = 0.0
        if not CHARGE_MIN_AH <= charge_ah <= CHARGE_MAX_AH:
            self.fail(f"{value!r} is neither full nor ampere-hours of a battery", param, ctx)
        return charge_ah


@click.command()
@click.argument("charge_ah", metavar="AH|full", type=_Charge())
@port_option
def battery(charge_ah: float, port: str | None) -> None:
    """Say that another battery has been put on, and what may be taken from it.

    AH are the ampere-hours that it may give, which are fewer than its label says: half of it for
    lead, at its age and warmth (capacity_mah of the board's settings, and what `status` shows for
    a full one). More than that is refused. A board with a battery channel sees by itself when a
    charged battery is put on; this is for one without, and where it has counted wrong: after
    `full` it also knows how its channel reads.

    \b
    Examples:
      rillkeeper battery full
      rillkeeper battery 20
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        told = dict(
            word.split("=") for word in make(talk, f"battery {round(charge_ah * 1e3)}").split()[3:]
        )
        wanted_mah = int(told["left_mah"])
        begun = monotonic()
        now = state.status(talk)
        while _differs(now, wanted_mah) and monotonic() - begun < CLEAR_S:
            sleep(_LOOK_S)
            now = state.status(talk)
    if _differs(now, wanted_mah):
        raise BoardStopped("the board counts as before; see rillkeeper status")
    click.echo(
        f"the board counts on from {(now.left_mah or 0) / 1e3:.1f} Ah that may be taken; of a "
        f"full battery it is {int(told['full_mah']) / 1e3:.1f} Ah"
    )


def _differs(now: state.Status, wanted_mah: int) -> bool:
    return now.left_mah is None or abs(now.left_mah - wanted_mah) > _MISSED_MAH


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
