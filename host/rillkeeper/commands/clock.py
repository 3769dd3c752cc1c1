"""`rillkeeper clock`: the board's time against this computer's, and setting it."""

from datetime import datetime, timedelta, timezone
from time import localtime, sleep
from time import timezone as west_s

import click

from rillkeeper.board.link import state
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.display_units import duration_text
from rillkeeper.errors import VerifyDiffers
from rillkeeper.screen import json_text

JSON_SCHEMA = 1
CLOSE_S = 2.0
"""A board shows whole seconds, and its answer takes a moment."""
_AHEAD_S = 0.3
_TRIES = 3

_SOURCES = {
    "chip": "a clock chip with its own cell",
    "own": "the board's own clock, which forgets the time without power",
}


@click.command()
@port_option
@click.option("--set", "set_it", is_flag=True, help="Set it to this computer's time.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def clock(port: str | None, set_it: bool, as_json: bool) -> None:
    """Show the board's clock and how far it is off; with --set, set it.

    The board keeps local standard time all the year: with summer time no night is an hour
    longer or shorter, and the times of the sets are in standard time too.

    \b
    Example:
      rillkeeper clock --set
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        if set_it:
            _set(talk)
        found = state.board_time(talk)
        off_s = None if found.now is None else (found.now - standard_time()).total_seconds()
    if as_json:
        document = {
            "schema": JSON_SCHEMA,
            "clock": None if found.now is None else found.now.isoformat(),
            "source": found.source,
            "off_s": None if off_s is None else round(off_s),
        }
        click.echo(json_text(document))
    else:
        click.echo(_sentence(found, off_s))
        if localtime().tm_isdst:
            click.echo("summer time is in force: the board's clock shows an hour less", err=True)
    if set_it and (off_s is None or abs(off_s) > CLOSE_S):
        raise VerifyDiffers("the board's clock does not show the time it was set to")


def standard_time() -> datetime:
    """Local time without summer time, as a board keeps it."""
    return datetime.now(timezone(timedelta(seconds=-west_s))).replace(tzinfo=None)


def _set(talk: Talk) -> None:
    """Set the clock on a whole second; again where the line or a busy computer took too long."""
    for _ in range(_TRIES):
        moment = standard_time() + timedelta(seconds=1.0 + _AHEAD_S)
        moment = moment.replace(microsecond=0)
        sleep(max(0.0, (moment - standard_time()).total_seconds()))
        make(talk, f"set-clock {moment:%Y-%m-%d %H:%M:%S}")
        if (standard_time() - moment).total_seconds() < CLOSE_S / 2:
            return


def _sentence(found: state.BoardTime, off_s: float | None) -> str:
    source = _SOURCES.get(found.source, found.source)
    if found.now is None or off_s is None:
        return f"not set; run: rillkeeper clock --set ({source})"
    shown = f"{found.now:%Y-%m-%d %H:%M:%S}"
    if abs(off_s) <= CLOSE_S:
        return f"{shown}, right to the second ({source})"
    if abs(off_s) > 2 * 86400:
        size = f"{abs(off_s) / 86400:.0f} days"
    else:
        size = duration_text(round(abs(off_s)))
    return f"{shown}, {size} {'ahead' if off_s > 0 else 'behind'} ({source})"
