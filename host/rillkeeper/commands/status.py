"""`rillkeeper status` and `rillkeeper watch`: what the board does and reads."""

import sys
from dataclasses import asdict
from time import monotonic, sleep

import click
from rich.live import Live
from rich.table import Table

from rillkeeper.board.link import state
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.state import BoardTime, Status
from rillkeeper.board.link.talk import Talk
from rillkeeper.display_units import Shown
from rillkeeper.errors import BoardStopped
from rillkeeper.screen import console, json_text, open_table

JSON_SCHEMA = 1
_SHOWN = Shown()


@click.command(name="status")
@port_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def status(port: str | None, as_json: bool) -> None:
    """Show what the board does, what it reads and what it keeps.

    Status 4 when the board will not pump until a person has acted: it is locked out, or has no
    valid settings, or its firmware is damaged.

    \b
    Example:
      rillkeeper status
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        who, now, time = state.identity(talk), state.status(talk), state.board_time(talk)
    if as_json:
        document = {
            "schema": JSON_SCHEMA,
            **asdict(who),
            **asdict(now),
            "doing": now.doing,
            "clock": None if time.now is None else time.now.isoformat(),
            "clock_source": time.source,
        }
        click.echo(json_text(document))
    else:
        screen = console()
        screen.print(f"board {who.board}, firmware {who.firmware}")
        screen.print(table_of(now, time))
    if now.needs_a_person:
        raise BoardStopped(now.needs_a_person)


@click.command(name="watch")
@port_option
@click.option("--count", type=click.IntRange(1), help="End after so many looks.")
def watch(port: str | None, count: int | None) -> None:
    """Look at the board once a second: live in place, or a line each when piped.

    Ctrl-C ends it. With --count it ends with status 4 when the board will not pump until a
    person has acted, as `status` does.

    \b
    Example:
      rillkeeper watch --count 10
    """
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        screen = console()
        live = Live(console=screen, auto_refresh=False) if sys.stdout.isatty() else None
        if live:
            live.start()
        try:
            now = _watch(talk, live, count)
        finally:
            if live:
                live.stop()
    if now.needs_a_person:
        raise BoardStopped(now.needs_a_person)


def _watch(talk: Talk, live: Live | None, count: int | None) -> Status:
    due = monotonic()
    looks = 0
    while True:
        now, time = state.status(talk), state.board_time(talk)
        if live:
            live.update(table_of(now, time), refresh=True)
        else:
            click.echo(line_of(now, time))
            sys.stdout.flush()
        looks += 1
        if looks == count:
            return now
        due = max(due + 1.0, monotonic())
        sleep(max(0.0, due - monotonic()))


def line_of(now: Status, time: BoardTime) -> str:
    """One look as a line."""
    words = [
        time_text(time),
        now.doing,
        f"relay {'closed' if now.relay else 'open'}",
        *(f"{name} {value}" for name, value in readings_of(now)),
    ]
    return ", ".join(words)


def table_of(now: Status, time: BoardTime) -> Table:
    """One look as a small table."""
    table = open_table(show_header=False)
    table.add_row("time", time_text(time))
    table.add_row("does", now.doing)
    if now.trouble:
        table.add_row("trouble", now.trouble)
    table.add_row("relay", relay_text(now))
    for name, value in readings_of(now):
        table.add_row(name, value)
    if now.contacts & 1:
        table.add_row("rain contact", "closed: it rains")
    table.add_row("log", log_text(now))
    if now.slowest_ms:
        table.add_row("slowest tick", f"{now.slowest_ms} ms while pumping")
    return table


def time_text(time: BoardTime) -> str:
    """The board's time, or that it has none."""
    return f"{time.now:%Y-%m-%d %H:%M:%S}" if time.now else "clock not set"


def relay_text(now: Status) -> str:
    """What the relay is told, and what is seen behind it."""
    told = "closed" if now.relay else "open"
    if now.load_on is not None and now.load_on != now.relay:
        told += ", but the pump's wire is " + ("live" if now.load_on else "dead")
    elif now.unasked:
        told += ", but the pump works"
    return told + (", and its pin does not follow" if now.relay_failed else "")


def log_text(now: Status) -> str:
    """How far the log goes, and what is wrong with it."""
    kept = now.next - now.oldest
    text = f"{kept} records kept, {now.waiting} not yet on flash"
    if now.lost:
        text += f", {now.lost} lost"
    return text + (", and its flash fails" if now.log_failed else "")


def readings_of(now: Status) -> list[tuple[str, str]]:
    """Readings with their units; none where the board has no settings to scale them with."""
    if now.pressure_pa is None or now.battery_mv is None or now.left_mah is None:
        return []
    return [
        ("outlet", _SHOWN.text(now.pressure_pa, "pressure")),
        ("battery", _SHOWN.text(now.battery_mv / 1000.0, "voltage")),
        ("charge left", _SHOWN.text(now.left_mah * 3.6, "charge")),
    ]
