"""`rillkeeper prove`: every protection provoked on purpose, step by step, and the record of it."""

import sys
from pathlib import Path
from time import monotonic, sleep

import click
from rich.table import Table

from rillkeeper import screen
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.board.proof import procedure, record_page
from rillkeeper.board.proof.at_terminal import AtTerminal
from rillkeeper.board.proof.outcome import FAILED, Outcome
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.steps import STEPS
from rillkeeper.commands import output_file
from rillkeeper.commands.clock import standard_time
from rillkeeper.commands.options import archive_option, archive_path
from rillkeeper.display_units import counted
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import open_table

WIDTH = 140
"""Of its tables where they are piped: a note may be long."""
_COLOURS = {"passed": "green", "failed": "red"}


@click.command()
@port_option
@archive_option
@click.option("--list", "list_steps", is_flag=True, help="Show the steps; no board is needed.")
@click.option("--only", metavar="STEP", help="Walk this step alone.")
@click.option("--undo", is_flag=True, help="Take the last calibration of this board back.")
@click.option("--show", is_flag=True, help="Show the last record; no board is needed.")
@click.option("--board", metavar="BOARD", help="With --show: which board's.")
@click.option("--json", "as_json", is_flag=True, help="With --show: one JSON document.")
@click.option(
    "--page", "page_file", type=click.Path(dir_okay=False), help="The record, to be signed."
)
def prove(
    port: str | None,
    archive_file: str | None,
    list_steps: bool,
    only: str | None,
    undo: bool,
    show: bool,
    board: str | None,
    as_json: bool,
    page_file: str | None,
) -> None:
    """Prove that every protection of the board works: on the bench, then at the water.

    Each step says what to do, what must happen and within which time; the board measures it. A
    step may be left out, with a reason: it is then not proved. Ctrl-C stops the pump at once and
    gives the board its own settings back; the next `prove` goes on from there. No set starts
    meanwhile. It needs a person at a terminal.

    \b
    Examples:
      rillkeeper prove --list
      rillkeeper prove
      rillkeeper prove --only dead-head
      rillkeeper prove --show --page proof.html
    """
    if list_steps:
        screen.show(_table_of_steps(), width=WIDTH)
        return
    if (as_json or board) and not show:
        raise UsageMistake("--json and --board go with --show")
    output_file.check_folders(page_file)
    path = archive_path(archive_file)
    if show:
        _show(_last(path, board), as_json, page_file)
        return
    if not undo and not sys.stdin.isatty():
        raise UsageMistake("prove needs a person at a terminal, to turn taps and pull plugs")
    with Archive(path) as archive:
        records = ProofRecords(archive)
        proof = _at_the_board(choose(port), archive, records, only, undo)
    if proof is not None:
        _show(proof, False, page_file)
        failed = sum(outcome.result == FAILED for outcome in proof.outcomes)
        if failed:
            raise RillkeeperError(f"{counted(failed, 'step')} failed: mend it, then prove again")


class Line:
    """The port, and opening it anew after the board was without power."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._port: Port | None = None

    def connect(self) -> Talk:
        """A talk over a fresh port."""
        self.close()
        self._port = Port(self._name)
        return Talk(self._port)

    def close(self) -> None:
        """Give the port back."""
        if self._port is not None:
            self._port.close()
            self._port = None


def _at_the_board(
    name: str, archive: Archive, records: ProofRecords, only: str | None, undo: bool
) -> Proof | None:
    line = Line(name)
    try:
        session = Session(
            line.connect, archive, clock_s=monotonic, sleep=sleep, standard_time=standard_time
        )
        if undo:
            made = procedure.undo(session, records)
            for key, value in made.after.items():
                click.echo(f"{key}: {made.before[key]} -> {value}")
            return None
        try:
            return _walk(session, records, only)
        except BaseException:
            _let_go(session)
            raise
    finally:
        line.close()


def _walk(session: Session, records: ProofRecords, only: str | None) -> Proof:
    proof = procedure.open_or_begin(session, records)
    steps = procedure.to_walk(proof, session.settings, only)
    person = AtTerminal()
    done = sum(outcome.result == "passed" for outcome in proof.outcomes)
    if done and only is None:
        click.echo(f"going on with the proof begun {proof.begun}: {counted(done, 'step')} passed")
    for number, step in enumerate(steps, start=1):
        person.begin(step, number, len(steps))
        procedure.prove(session, person, records, proof, [step], _say)
    click.echo("Stand clear: the board is on its own now, and a set that is due begins.", err=True)
    if only is not None:
        session.end()
    else:
        name = click.prompt("Who proved it (may stay empty)", default="", show_default=False)
        procedure.sign(session, records, proof, name.strip())
        click.echo(
            "The starts of a proof count: the first set can begin an hour from now.", err=True
        )
    return proof


def _let_go(session: Session) -> None:
    """Broken off at a question: the sets are on again, where the board can still be told."""
    try:
        session.end()
    except (RillkeeperError, KeyboardInterrupt):
        pass


def _say(outcome: Outcome) -> None:
    measured = f", {outcome.measured_text} of {outcome.limit_text}" if outcome.measured else ""
    note = f" ({outcome.note})" if outcome.note else ""
    colour = _COLOURS.get(outcome.result, "yellow")
    click.secho(f"{outcome.result}{measured}{note}", fg=colour)


def _last(path: Path, board: str | None) -> Proof:
    nothing = RillkeeperError(f"{path}: no proof in the archive yet; make one: rillkeeper prove")
    if not path.exists():
        raise nothing
    with Archive(path) as archive:
        records = ProofRecords(archive)
        boards = records.boards()
        if not boards:
            raise nothing
        if board is not None and board not in boards:
            raise UsageMistake(f"no proof of board {board}; there is {', '.join(boards)}")
        if board is None and len(boards) > 1:
            raise UsageMistake(f"choose one with --board: {', '.join(boards)}")
        found = records.last(board or boards[0])
    assert found is not None
    return found


def _show(proof: Proof, as_json: bool, page_file: str | None) -> None:
    if as_json:
        click.echo(record_page.json_text(proof))
    else:
        screen.show(
            record_page.headline(proof),
            record_page.numbers_of(proof),
            record_page.table_of(proof),
            record_page.summary(proof),
            width=WIDTH,
        )
    if page_file:
        from rillkeeper.pages.proof import write  # Heavy: only where a page is asked for.

        output_file.save("page", page_file, lambda path: write(proof, path))


def _table_of_steps() -> Table:
    table = open_table("step", "what", "proves", "where")
    for step in STEPS:
        table.add_row(step.id, step.title, step.rule or "-", step.place)
    return table
