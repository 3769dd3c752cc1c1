"""`rillkeeper prove`: each protection provoked on purpose, round by round, and its record."""

import sys
from contextlib import suppress
from pathlib import Path
from time import monotonic, sleep

import click
from rich.table import Table

from rillkeeper import screen
from rillkeeper.board.link.hands import Desk, desk_of
from rillkeeper.board.link.port import Port
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.talk import Talk
from rillkeeper.board.proof import procedure, record_page, rounds
from rillkeeper.board.proof.at_terminal import AtTerminal, leaves_out
from rillkeeper.board.proof.minutes import TYPICAL, minutes, step_s
from rillkeeper.board.proof.outcome import FAILED, PASSED
from rillkeeper.board.proof.records import Proof, ProofRecords
from rillkeeper.board.proof.rehearsal import BY_ITSELF
from rillkeeper.board.proof.session import Session
from rillkeeper.board.proof.steps import STEPS
from rillkeeper.commands import output_file
from rillkeeper.commands.clock import standard_time
from rillkeeper.commands.options import archive_option, archive_path
from rillkeeper.display_units import counted
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.inquiry.why.small_tests.kept import PROOF, KeptTests, Made
from rillkeeper.runlog.store import Archive, Last
from rillkeeper.screen import open_table
from rillkeeper.site.file import load_site

WIDTH = 140
"""Of its tables where they are piped: a note may be long."""
STAND_CLEAR = "Stand clear: the board is on its own now, and a set that is due begins."
REHEARSED = (
    "The board is a virtual one: each step says by which command, in another window, it is done "
    "there. Lamp, meter and ears are `rillkeeper hand --look`."
)
UNREACHED = (
    "The board could not be told: hand switch off. Its own settings come back by themselves."
)


@click.command()
@port_option
@archive_option
@click.option("--list", "list_steps", is_flag=True, help="Show the steps; no board is needed.")
@click.option(
    "--round",
    "name",
    type=click.Choice([*rounds.NAMES, rounds.ALL]),
    help="Walk this round; without it, those that are due by the record.",
)
@click.option("--only", metavar="STEP", help="Walk this step alone.")
@click.option(
    "--site",
    "site_file",
    type=click.Path(dir_okay=False),
    help="The site's file: the main fuse is held against it.",
)
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
    name: str | None,
    only: str | None,
    site_file: str | None,
    undo: bool,
    show: bool,
    board: str | None,
    as_json: bool,
    page_file: str | None,
) -> None:
    """Prove that every protection of the board works, in three rounds, each when it is due.

    build: once, and after every change of a wire or a part. season: half an hour at the start of
    each season. by-itself: with every firmware; the board does it alone. Each step says what to
    do, what must happen and within which time; the board measures it. A step may be left out,
    with a reason: it is then not proved. Ctrl-C stops the pump at once and gives the board its own
    settings back; the next `prove` goes on from there. No set starts meanwhile. It needs a person
    at a terminal.

    \b
    Examples:
      rillkeeper prove --list
      rillkeeper prove --site my-plot.toml
      rillkeeper prove --round season
      rillkeeper prove --only dead-head
      rillkeeper prove --show --page proof.html
    """
    if list_steps:
        screen.show(_table_of_steps(), width=WIDTH)
        return
    if (as_json or board) and not show:
        raise UsageMistake("--json and --board go with --show")
    if name and only:
        raise UsageMistake("--only names one step; leave --round away")
    output_file.check_folders(page_file)
    path = archive_path(archive_file)
    if show:
        _show(_last(path, board), as_json, page_file)
        return
    if only is not None:
        procedure.step_of(only)
    fuse_a = load_site(site_file).cable.fuse_a if site_file else None
    if not undo and not sys.stdin.isatty():
        raise UsageMistake("prove needs a person at a terminal, to turn taps and pull plugs")
    with Archive(path) as archive:
        records = ProofRecords(archive)
        proofs = _at_the_board(choose(port), archive, records, name, only, fuse_a, undo)
    if proofs:
        _show(proofs, False, page_file)
        outcomes = [outcome for proof in proofs for outcome in proof.outcomes]
        failed = sum(outcome.result == FAILED for outcome in outcomes)
        if failed:
            raise RillkeeperError(f"{counted(failed, 'step')} failed: mend it, then prove again")


class Line:
    """The port, and opening it anew after the board was without power."""

    def __init__(self, name: str) -> None:
        self.desk = desk_of(name)
        self._name = name
        self._port: Port | None = None

    def session(self, archive: Archive) -> Session:
        """The work at its board; the time of a virtual one is that of its site."""
        speed = self.desk.speed
        return Session(
            self.connect,
            archive,
            clock_s=lambda: monotonic() * speed,
            sleep=lambda seconds: sleep(seconds / speed),
            standard_time=standard_time,
        )

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
    port: str,
    archive: Archive,
    records: ProofRecords,
    name: str | None,
    only: str | None,
    fuse_a: float | None,
    undo: bool,
) -> list[Proof]:
    line = Line(port)
    try:
        session = line.session(archive)
        before = archive.last(session.who.board)
        if undo:
            made = procedure.undo(session, records)
            for key, value in made.after.items():
                click.echo(f"{key}: {made.before[key]} -> {value}")
            return []
        try:
            if only is not None:
                return [_walk_one(session, records, only, fuse_a, line.desk)]
            return _walk(session, records, name, fuse_a, line.desk)
        except BaseException as error:
            _let_go(session, broken_off=isinstance(error, (KeyboardInterrupt, click.Abort)))
            raise
        finally:
            _leave_out(session, archive, before)
    finally:
        line.close()


def _leave_out(session: Session, archive: Archive, before: Last | None) -> None:
    """What the board has written since is the proof's doing, and no night's."""
    with suppress(RillkeeperError):  # A board out of reach: what it has said so far is here.
        session.new_entries()
    made = Made(PROOF, session.now_text(), 0, {})
    KeptTests(archive).add_since(session.who.board, made, before)


def _walk_one(
    session: Session, records: ProofRecords, only: str, fuse_a: float | None, desk: Desk
) -> Proof:
    step = procedure.step_of(only)
    if not step.fits(session.settings):
        raise UsageMistake(f"{only}: this board has not the sensors for it")
    proof = procedure.open_or_begin(session, records, step.round)
    person = AtTerminal(desk.hand, desk.there)
    person.begin(step, 1, 1, step_s(step, session.settings))
    procedure.prove(session, person, records, proof, [step], person.result, fuse_a=fuse_a)
    _on_its_own(session)
    return proof


def _walk(
    session: Session,
    records: ProofRecords,
    name: str | None,
    fuse_a: float | None,
    desk: Desk,
) -> list[Proof]:
    """The rounds that were chosen or are due, one after another; each is signed at its end.

    One in which a step has failed may stay open instead.
    """
    names = rounds.chosen(name, _due(session, records))
    proofs: list[Proof] = []
    who = None
    for one in names:
        proof = _walk_round(session, records, rounds.of_name(one), fuse_a, desk)
        if proof is None:
            continue
        proofs.append(proof)
        if (failed := record_page.failed_of(proof)) and not leaves_out(
            f"{counted(failed, 'step')} failed. Press Enter to leave the round open, so that the "
            "next `prove` walks what has not passed, or s to sign it as it is"
        ):
            continue
        if who is None:
            who = click.prompt("Who proved it (may stay empty)", default="", show_default=False)
        procedure.sign(session, records, proof, who.strip())
    _on_its_own(session)
    return proofs


def _due(session: Session, records: ProofRecords) -> list[str]:
    """Which rounds are due; how all of them stand, and how long each takes, is said."""
    due = []
    settings = session.settings
    for one in rounds.ROUNDS:
        is_due, why = rounds.standing(
            one.name, records, session.who.board, settings, session.files_crc, standard_time()
        )
        due += [one.name] if is_due else []
        word = "due" if is_due else "not due"
        minutes_text = f"{minutes(rounds.steps_of(one.name, settings), settings)} min"
        click.echo(f"{one.name:<10} {word:<8} {minutes_text:<8} {one.when}: {why}")
    steps = [step for one in due for step in rounds.steps_of(one, settings)]
    if len(due) > 1:
        click.echo(f"About {minutes(steps, settings)} min for all that is due.")
    return due


def _walk_round(
    session: Session,
    records: ProofRecords,
    one: rounds.Round,
    fuse_a: float | None,
    desk: Desk,
) -> Proof | None:
    """One round to its end; None where it is left for another day."""
    session.hold_off()
    settings = session.settings
    begun = procedure.begun(session, records, one.name)
    steps = procedure.to_walk(begun, one.name, settings)
    click.echo()
    about = f"{counted(len(steps), 'step')}, about {minutes(steps, settings)} min"
    click.secho(f"{one.name}: {about}", bold=True)
    click.echo(one.what)
    if desk.hand:
        click.echo(REHEARSED if not one.alone else f"Virtual board: {desk.hand} {BY_ITSELF}")
    if begun is not None:
        done = sum(outcome.result == PASSED for outcome in begun.outcomes)
        click.echo(f"going on with what was begun {begun.begun}: {counted(done, 'step')} passed")
    if leaves_out("Press Enter to begin, or s to leave this round for another day"):
        return None
    proof = procedure.open_or_begin(session, records, one.name)
    person = AtTerminal(desk.hand, desk.there)
    for number, step in enumerate(steps, start=1):
        person.begin(step, number, len(steps), step_s(step, settings))
        procedure.prove(
            session, person, records, proof, [step], person.result, alone=one.alone, fuse_a=fuse_a
        )
    return proof


def _on_its_own(session: Session) -> None:
    click.echo(STAND_CLEAR, err=True)
    session.end()
    click.echo("The starts of a proof count: the first set can begin an hour from now.", err=True)


def _let_go(session: Session, *, broken_off: bool) -> None:
    """The sets are on again, where the board can still be told."""
    try:
        session.end()
    except (RillkeeperError, KeyboardInterrupt):
        click.echo(UNREACHED, err=True)
        return
    if broken_off:
        click.echo(f"\n{STAND_CLEAR}", err=True)
        click.echo("The next `rillkeeper prove` goes on from here.", err=True)


def _last(path: Path, board: str | None) -> list[Proof]:
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
        return record_page.latest(records, board or boards[0])


def _show(proofs: list[Proof], as_json: bool, page_file: str | None) -> None:
    if as_json:
        click.echo(record_page.json_text(proofs))
    else:
        for proof in proofs:
            screen.show(
                record_page.headline(proof),
                record_page.numbers_of(proof),
                record_page.table_of(proof),
                record_page.summary(proof),
                width=WIDTH,
            )
        for one in record_page.never(proofs):
            click.echo(f"{one}: never proved")
    if page_file:
        from rillkeeper.pages.proof import write  # Heavy: only where a page is asked for.

        output_file.save("page", page_file, lambda path: write(proofs, path))


def _table_of_steps() -> Table:
    table = open_table("round", "step", "what", "proves", "where", "about")
    for one in rounds.ROUNDS:
        steps = [step for step in STEPS if step.round == one.name]
        for step in steps:
            about = f"{step_s(step, TYPICAL):.0f} s"
            table.add_row(one.name, step.id, step.title, step.rule or "-", step.place, about)
        all_of_them = minutes(rounds.steps_of(one.name, TYPICAL), TYPICAL)
        table.add_row(one.name, "", "in all", "", "", f"{all_of_them} min")
    return table
