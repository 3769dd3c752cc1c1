"""`rillkeeper learn`: a site's uncertain inputs, out of the nights that its board has kept."""

import sys
from pathlib import Path

import click

from rillkeeper.commands import output_file
from rillkeeper.commands.diagnosis import ask_why
from rillkeeper.commands.log_source import archive_lines, file_lines, known_board, since_lines
from rillkeeper.commands.options import archive_option, archive_path, day_of, since_option
from rillkeeper.commands.small_tests import tests_of
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import counted, date_of
from rillkeeper.errors import NoSafeLimit, RillkeeperError, UsageMistake
from rillkeeper.inquiry.learn import json_document, terminal
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.inquiry.learn.fit_site import learn as learn_site
from rillkeeper.inquiry.learn.overlay import SUFFIX, Source, path_beside, text_of
from rillkeeper.inquiry.learn.summary import beyond, shown_value
from rillkeeper.inquiry.why.small_tests.kept import without_tests
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import console
from rillkeeper.site.file import load_site
from rillsim.site import Site


@click.command()
@click.argument("site", type=click.Path(exists=True, dir_okay=False))
@click.option(
    "--log",
    "logfile",
    type=click.Path(exists=True, dir_okay=False),
    help="A file of the board's lines, in place of the archive.",
)
@archive_option
@click.option("--board", metavar="BOARD", help="Which board, where the archive has several.")
@since_option
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False),
    help=f"Another file than the site file's own name with {SUFFIX} at its end.",
)
@click.option("--yes", is_flag=True, help="Write it, over what was learned before too.")
@click.option("--dry-run", is_flag=True, help="Show it and write no file.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="The same, drawn.")
def learn(
    site: str,
    logfile: str | None,
    archive_file: str | None,
    board: str | None,
    since: str | None,
    output: str | None,
    yes: bool,
    dry_run: bool,
    as_json: bool,
    page_file: str | None,
) -> None:
    """Fit the uncertain inputs of the SITE to recorded nights: nozzle, hose, strainer, pump, cable
    and battery.

    The site file stays as it is: what is learned goes into a file beside it, with how sure each
    value is and which inputs these sensors do not tell. `size`, `limits`, `week` and `report`
    take it with --learned. Give nights on which nothing was wrong, of one battery, since the
    last change to pump and lines: where `why` names a trouble in them, nothing is written.

    \b
    Examples:
      rillkeeper learn my-plot.toml --since 2026-07-01 --page learned.html
      rillkeeper learn my-plot.toml --log week.log --dry-run
    """
    day = day_of(since)
    target = Path(output) if output else path_beside(Path(site))
    output_file.check_folders(page_file, output)
    if logfile and (board or archive_file):
        raise UsageMistake("--log goes without --board and --archive")
    if target.resolve() == Path(site).resolve():
        raise UsageMistake("the site file is never written over; choose another with --output")
    found = load_site(site)
    number = None if logfile else known_board(archive_file, board).board
    lines = file_lines(Path(logfile)) if logfile else archive_lines(archive_file, number)
    log = read_log(since_lines(lines, day))
    if number:
        log = without_tests(log, tests_of(archive_file, number))
    evidence = nights_of(log, found.board)
    if not evidence.runs:
        raise RillkeeperError(_no_run(log, since))
    learned = learn_site(found, evidence, _capacity_mah(found))
    source = Source(_source(logfile, archive_file, lines), _nights(learned))
    if as_json:
        click.echo(json_document.text_of(learned, source))
    else:
        terminal.show(learned, console())
    if page_file:
        output_file.save("page", page_file, lambda path: _write_page(learned, source, path))
    objection = "" if yes else _objection(learned, log)
    if objection:
        raise RillkeeperError(f"nothing written: {objection}")
    if not dry_run and _may_write(target, yes):
        text = text_of(learned, source)
        output_file.save(
            "learned", str(target), lambda path: path.write_text(text, encoding="utf-8")
        )


def _objection(learned: LearnedSite, log: RunLog) -> str:
    """Why these nights are not to be taken for the site as it is; empty where nothing is wrong."""
    if not learned.agrees:
        return (
            "these nights contradict each other, so what they teach would be wrong; leave out "
            "those before or after the change with --since, or see `rillkeeper why`"
        )
    for one in beyond(learned):
        value = shown_value(one.about.row, one.value, learned.site.units)
        return (
            f"the {one.about.name} would be {value}, and so far off no guess is: it is rather a "
            "trouble than the site. See `rillkeeper why`; if it really is so, write it into the "
            "site file, or add --yes"
        )
    found = ask_why(log, learned.site)
    if found and found.troubles:
        first = found.troubles[0]
        return (
            f"these nights may teach a trouble as if it were the site. {first.told} {first.look} "
            "If all of that is as it should be, add --yes"
        )
    return ""


def _no_run(log: RunLog, since: str | None) -> str:
    text = f"no run {f'since {since} ' if since else ''}is in this log"
    if log.damages:
        text += f", and {counted(len(log.damages), 'line')} could not be read"
    return text


def _may_write(target: Path, yes: bool) -> bool:
    """Nobody's file is written over unasked."""
    if yes or not target.exists():
        return True
    if not sys.stdin.isatty():
        raise UsageMistake(f"{target} is there already; add --yes to write over it, or --output")
    return click.confirm(f"{target} is there already; write over it?", err=True)


def _source(logfile: str | None, archive_file: str | None, lines: list[str]) -> str:
    """The file, or the board, that the nights are from."""
    if logfile:
        return Path(logfile).name
    with Archive(archive_path(archive_file)) as archive:
        board = next(board for board in archive.boards() if archive.lines(board) == lines)
    return f"board {board}"


def _nights(learned: LearnedSite) -> str:
    nights = [lived.evidence.night for lived in learned.runs]
    return f"{date_of(min(nights)).isoformat()} to {date_of(max(nights)).isoformat()}"


def _capacity_mah(site: Site) -> int:
    """What the board takes a full battery for; 0 where the site gives no limits."""
    try:
        return settings_of(site)["capacity_mah"]
    except NoSafeLimit:
        return 0


def _write_page(learned: LearnedSite, source: Source, path: Path) -> None:
    output_file.need_pictures(path)
    from rillkeeper.pages.learn import write  # Heavy: only where a page is asked for.

    write(learned, source, path)
