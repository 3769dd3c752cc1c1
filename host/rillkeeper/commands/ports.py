"""`rillkeeper ports`: which ports a board may be behind, and what is there."""

from typing import Any

import click

from keeper.lines import parse_line
from keeper.plan import night_of
from keeper.records import DAY, FIRST, KIND, NIGHT, SECOND
from rillkeeper.board.link import state
from rillkeeper.board.link.fetch import read_chunk
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import Candidate, candidates
from rillkeeper.board.link.talk import Talk
from rillkeeper.display_units import day_text, duration_text
from rillkeeper.errors import NoBoard, RillkeeperError
from rillkeeper.screen import json_text, open_table, show

JSON_SCHEMA = 1
LOOK_BACK = 200
"""Records in which the last night is looked for: a night or two."""


@click.command()
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def ports(as_json: bool) -> None:
    """List the ports a board may be behind, with board, firmware and last night.

    With no port at all it ends with status 3.

    \b
    Example:
      rillkeeper ports
    """
    rows = [_look(candidate) for candidate in candidates()]
    if as_json:
        document = {"schema": JSON_SCHEMA, "ports": rows}
        click.echo(json_text(document))
    elif rows:
        table = open_table()
        for heading in ("port", "what", "board", "firmware", "last night"):
            table.add_column(heading, overflow="fold")
        for row in rows:
            found = (row["what"], row["board"] or row["problem"], row["firmware"])
            table.add_row(row["port"], *found, row["last_night"])
        show(table)
    if not rows:
        raise NoBoard("no port that a board may be behind; try: rillkeeper board")


def _look(candidate: Candidate) -> dict[str, Any]:
    row = {
        "port": candidate.name,
        "what": candidate.what,
        "board": "",
        "firmware": "",
        "last_night": "",
        "problem": "",
    }
    try:
        with Port(candidate.name) as port:
            talk = Talk(port, tries=2, patience_s=1.0)
            found = state.identity(talk)
            row["board"], row["firmware"] = found.board, found.firmware
            row["last_night"] = _last_night(talk)
    except RillkeeperError as error:
        row["problem"] = str(error).removeprefix(f"{candidate.name}: ")
    return row


def _last_night(talk: Talk) -> str:
    """What the last closed night gave."""
    now = state.status(talk)
    seq = max(now.oldest, now.next - LOOK_BACK)
    found = "none yet"
    while seq < now.next:
        chunk = read_chunk(talk, seq)
        for line in chunk.records.values():
            row = parse_line(line)
            if row[KIND] == NIGHT:
                run_s, given_ml = row[FIRST], row[FIRST + 1]
                night = day_text(night_of(row[DAY], row[SECOND]) - 1)
                found = f"{night}: {given_ml / 1000:.0f} L in {duration_text(run_s)}"
        if chunk.next <= seq:
            break
        seq = chunk.next
    return found
