"""`rillkeeper log`: read the board's run log into the archive, while the pump runs if need be."""

import sys
from collections.abc import Iterable
from contextlib import suppress
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
from rillkeeper.display_units import Shown, counted
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.runlog import records_csv
from rillkeeper.runlog.boards import Boards
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry, RunLog, read_log
from rillkeeper.runlog.plain_words import PlainWords
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import json_text, progress_of

JSON_SCHEMA = 1
FOLLOW_S = 1.0


@click.command()
@port_option
@archive_option
@since_option
@click.option("--follow", is_flag=True, help="Go on, record by record, until Ctrl-C.")
@click.option("--raw", is_flag=True, help="The board's own lines, as files of logs have them.")
@click.option("--csv", "csv_file", type=click.Path(dir_okay=False), help="A row a record.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def log(
    port: str | None,
    archive_file: str | None,
    since: str | None,
    follow: bool,
    raw: bool,
    csv_file: str | None,
    as_json: bool,
) -> None:
    """Read what is new in the board's run log, keep it in the archive, and tell it in words.

    It takes up where the last reading ended, also after one that was broken off, and may be
    run while the pump runs. With --since, --csv or --json it gives what the archive has of
    this board, not only what is new. The archive keeps the lines as the board has written them;
    --raw prints those.

    \b
    Examples:
      rillkeeper log
      rillkeeper log --raw > night.log
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
        words = None if raw else PlainWords(Shown(), _fitted(talk))
        boards = Boards(archive)
        boards.was_read(who.board)
        called = boards.of(who.board).called
        new = _read(fetch, words, follow) if only_new else _read_silently(fetch)
        lines = archive.lines(who.board)
    found = read_log(lines)
    entries = [entry for entry in found.entries if is_since(entry, day)]
    if csv_file:
        output_file.save("csv", csv_file, lambda path: records_csv.write(entries, path))
    if as_json:
        document = document_of(who.board, entries, found)
        click.echo(json_text(document))
    elif day is not None and not csv_file:
        _print(words, lines_of(lines, entries), last=True)
    _tell(fetch, new, found, f"{called} in {archive_path(archive_file)}")


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


def _fitted(talk: Talk) -> Fitted:
    """Which sensors the board has; all of them where it cannot say."""
    values: dict[str, int] = {}
    with suppress(RillkeeperError):
        values = state.settings(talk)
    return Fitted.of_settings(values) if values else Fitted()


def _read(fetch: Fetch, words: PlainWords | None, follow: bool) -> int:
    """Read and print until there is nothing more, or for ever; returns how many were new."""
    new = 0
    while True:
        for lines in fetch.read():
            new += len(lines)
            _print(words, lines)
        _print(words, [], last=True)
        if not follow:
            return new
        sleep(FOLLOW_S)


def _read_silently(fetch: Fetch) -> int:
    """Read, and say on stderr how far that has come."""
    new = 0
    with progress_of("reading the log") as told:
        for lines in fetch.read():
            new += len(lines)
            told(new / max(1, new + fetch.end - fetch.next))
    return new


def _print(words: PlainWords | None, lines: list[str], *, last: bool = False) -> None:
    if words is not None:
        lines = list(words.take(lines)) + (list(words.rest()) if last else [])
    if lines:
        click.echo("\n".join(lines))
        sys.stdout.flush()


def _tell(fetch: Fetch, new: int, found: RunLog, where: str) -> None:
    """What was read, and what is missing."""
    kept = counted(len(found.entries), "record")
    click.echo(f"{counted(new, 'new record')}; {kept} of {where}", err=True)
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
