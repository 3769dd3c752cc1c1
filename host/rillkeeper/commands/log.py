"""`rillkeeper log`: read the board's run log into the archive, while the pump runs if need be."""

import sys
from collections.abc import Iterable
from pathlib import Path
from time import sleep
from typing import Any

import click

from rillkeeper.board.link import state
from rillkeeper.board.link.fetch import Fetch
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.commands import output_file
from rillkeeper.commands.log_source import is_since, lines_of
from rillkeeper.commands.options import archive_option, archive_path, day_of, since_option
from rillkeeper.display_units import counted
from rillkeeper.errors import UsageMistake
from rillkeeper.runlog import records_csv
from rillkeeper.runlog.lines import Entry, RunLog, read_log
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import json_text

JSON_SCHEMA = 1
FOLLOW_S = 1.0


@click.command()
@port_option
@archive_option
@since_option
@click.option("--follow", is_flag=True, help="Go on, record by record, until Ctrl-C.")
@click.option("--csv", "csv_file", type=click.Path(dir_okay=False), help="A row a record.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def log(
    port: str | None,
    archive_file: str | None,
    since: str | None,
    follow: bool,
    csv_file: str | None,
    as_json: bool,
) -> None:
    """Read what is new in the board's run log, keep it in the archive, and print it.

    It takes up where the last reading ended, also after one that was broken off, and may be
    run while the pump runs. With --since, --csv or --json it gives what the archive has of
    this board, not only what is new.

    \b
    Examples:
      rillkeeper log
      rillkeeper log --since 2026-07-09 --csv log.csv
    """
    day = day_of(since)
    if follow and (csv_file or as_json or since):
        raise UsageMistake("--follow goes without --since, --csv and --json")
    output_file.check_folders(csv_file)
    only_new = day is None and not csv_file and not as_json
    with Archive.renewed(archive_path(archive_file)) as archive, Port(choose(port)) as opened:
        if archive.renewal:
            click.echo(archive.renewal.sentence, err=True)
        talk = Talk(opened)
        who = state.identity(talk)
        fetch = Fetch(talk, archive, who.board)
        new = _read(fetch, only_new, follow)
        lines = archive.lines(who.board)
    found = read_log(lines)
    entries = [entry for entry in found.entries if is_since(entry, day)]
    if csv_file:
        output_file.save("csv", csv_file, lambda path: records_csv.write(entries, path))
    if as_json:
        document = document_of(who.board, entries, found)
        click.echo(json_text(document))
    elif day is not None and not csv_file:
        click.echo("".join(line + "\n" for line in lines_of(lines, entries)), nl=False)
    _tell(fetch, new, found, archive_path(archive_file))


def document_of(board: str, entries: Iterable[Entry], found: RunLog) -> dict[str, Any]:
    """Records as plain dictionaries and lists."""
    return {
        "schema": JSON_SCHEMA,
        "board": board,
        "records": [
            {
                "seq": entry.seq,
                "time": records_csv.moment(entry),
                "clock_ok": entry.trusted,
                "kind": entry.kind,
                **entry.numbers,
            }
            for entry in entries
        ],
        "missing": found.missing,
        "gaps": [gap.sentence for gap in found.gaps],
    }


def _read(fetch: Fetch, show: bool, follow: bool) -> int:
    """Read until there is nothing more, or for ever; returns how many records were new."""
    new = 0
    while True:
        for lines in fetch.read():
            new += len(lines)
            if show:
                click.echo("\n".join(lines))
                sys.stdout.flush()
        if not follow:
            return new
        sleep(FOLLOW_S)


def _tell(fetch: Fetch, new: int, found: RunLog, path: Path) -> None:
    """What was read, and what is missing."""
    kept = counted(len(found.entries), "record")
    click.echo(f"{counted(new, 'new record')}; {kept} of this board in {path}", err=True)
    if fetch.anew:
        click.echo("the board's numbering has begun anew since the last reading", err=True)
    if fetch.dropped:
        gone = counted(fetch.dropped, "record was", "records were")
        click.echo(f"{gone} overwritten on the board before they were read", err=True)
    if fetch.damaged:
        bad = counted(fetch.damaged, "record is", "records are")
        click.echo(f"{bad} damaged on the board's flash", err=True)
    for gap in found.gaps:
        click.echo(gap.sentence, err=True)
