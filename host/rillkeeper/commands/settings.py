"""`rillkeeper settings`: read the board's settings, keep them in a file, write them from one."""

import sys
from pathlib import Path

import click

from keeper.settings import SCHEMA
from rillkeeper import row_words
from rillkeeper.board import settings_file
from rillkeeper.board.link import state
from rillkeeper.board.link.change import make
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.display_units import counted
from rillkeeper.errors import RillkeeperError, UsageMistake, VerifyDiffers
from rillkeeper.screen import json_text, open_table, show


@click.command()
@port_option
@click.option(
    "--write",
    "source",
    type=click.Path(exists=True, dir_okay=False),
    help="Write what differs from this file to the board.",
)
@click.option(
    "--save", "target", type=click.Path(dir_okay=False), help="Keep them in a .toml or .json file."
)
@click.option("--dry-run", is_flag=True, help="With --write: only show what differs.")
@click.option("--yes", is_flag=True, help="With --write: do not ask.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def settings(
    port: str | None,
    source: str | None,
    target: str | None,
    dry_run: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Show the board's settings, save them to a file, or write them from one.

    Before anything is written the differences are shown and a yes is asked for; where nobody
    can answer, --yes must be given. The board takes all of them or none, and they are read
    back: status 5 if they differ. A setting that is not in the file stays as it is.

    \b
    Examples:
      rillkeeper settings --save backup.toml
      rillkeeper limits my-plot.toml -o limits.json
      rillkeeper settings --write limits.json
    """
    if source and (target or as_json):
        raise UsageMistake("--write goes without --save and --json")
    if (dry_run or yes) and not source:
        raise UsageMistake("--dry-run and --yes go with --write")
    wanted = settings_file.read(Path(source)) if source else {}
    with Port(choose(port)) as opened:
        talk = Talk(opened)
        who, now = state.identity(talk), state.settings(talk)
        if source:
            write_to_board(talk, source, now, wanted, dry_run, yes)
            return
    if not now:
        raise RillkeeperError("the board has no settings; write some: rillkeeper settings --write")
    if target:
        settings_file.write(Path(target), now, who.board)
        click.echo(f"settings: {target}", err=True)
    if as_json:
        document = {"schema": settings_file.JSON_SCHEMA, "board": who.board, "settings": now}
        click.echo(json_text(document))
    elif not target:
        _show(now)


def write_to_board(
    talk: Talk, source: str, now: dict[str, int], wanted: dict[str, int], dry_run: bool, yes: bool
) -> None:
    """Show what differs, ask, write it, and read it back."""
    settings_file.check(source, {**now, **wanted})
    differing = {key: value for key, value in wanted.items() if now.get(key) != value}
    for key, value in differing.items():
        click.echo(f"{key}: {now.get(key, 'not set')} -> {value}")
    if not differing:
        click.echo("the board has these settings already", err=True)
        return
    if dry_run:
        return
    if not yes:
        if not sys.stdin.isatty():
            raise UsageMistake("nothing written, as nobody can be asked; add --yes to write it")
        click.confirm(f"write {counted(len(differing), 'setting')} to the board?", abort=True)
    make(talk, "drop")
    for key, value in differing.items():
        make(talk, f"set {key} {value}")
    make(talk, "apply")
    found = state.settings(talk)
    wrong = [key for key, value in wanted.items() if found.get(key) != value]
    if wrong:
        raise VerifyDiffers(f"the board does not have what was written: {', '.join(wrong)}")
    click.echo(f"{counted(len(differing), 'setting')} written and read back", err=True)


def _show(values: dict[str, int]) -> None:
    table = open_table()
    table.add_column("setting", no_wrap=True)
    table.add_column("value", justify="right", no_wrap=True)
    table.add_column("unit", no_wrap=True)
    table.add_column("what it is")
    for row in SCHEMA:
        key, unit, _, _, default = row
        changed = default is not None and values[key] != default
        words = row_words.of_setting(row) + (" (changed)" if changed else "")
        table.add_row(key, str(values[key]), unit, words)
    show(table)
