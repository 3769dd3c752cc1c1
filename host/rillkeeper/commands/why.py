"""`rillkeeper why`: what is going wrong on a site, out of the nights that its board has kept."""

from pathlib import Path

import click

from rillkeeper.commands import output_file
from rillkeeper.commands.diagnosis import diagnosis_of, remember_site
from rillkeeper.commands.log_source import (
    archive_lines,
    file_lines,
    known_board,
    no_night_text,
    since_lines,
)
from rillkeeper.commands.options import (
    archive_option,
    day_of,
    learned_option,
    since_option,
    with_learned,
)
from rillkeeper.commands.small_tests import informed, tests_of
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.inquiry.why import json_document, terminal
from rillkeeper.inquiry.why.answer import Inquiry, strange_words
from rillkeeper.inquiry.why.small_tests.kept import Made, without_tests
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.screen import console
from rillkeeper.site.file import demo_site, load_site
from rillsim.site import Site


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@learned_option
@click.option(
    "--log",
    "logfile",
    type=click.Path(exists=True, dir_okay=False),
    help="A file of the board's lines, in place of the archive.",
)
@archive_option
@click.option("--board", metavar="BOARD", help="Which board, where the archive has several.")
@since_option
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="The evidence, drawn.")
def why(
    site: str | None,
    learned_file: str | None,
    logfile: str | None,
    archive_file: str | None,
    board: str | None,
    since: str | None,
    as_json: bool,
    page_file: str | None,
) -> None:
    """Name what is going wrong: the recorded nights against the model of the SITE.

    It reads the archive, which `rillkeeper log` fills, or a log file. The first time for a site
    it simulates about a hundred faults (up to half a minute) and keeps the result. Without SITE
    it takes the site file that the board was set up for, or else the demonstration site.

    \b
    Examples:
      rillkeeper why my-plot.toml
      rillkeeper why my-plot.toml --since 2026-07-01 --page why.html
      rillkeeper week --fault corroded_clamp@3:0.1 --log week.log
      rillkeeper why --log week.log
    """
    day = day_of(since)
    output_file.check_folders(page_file)
    if logfile and (board or archive_file):
        raise UsageMistake("--log goes without --board and --archive")
    known = None if logfile else known_board(archive_file, board)
    number = known.board if known else None
    lines = file_lines(Path(logfile)) if logfile else archive_lines(archive_file, number)
    given = site
    if known and not site:
        site, learned_file = known.site_file, learned_file or known.learned_file
    found = with_learned(load_site(site) if site else demo_site(), learned_file)
    if not given:
        which = "its own site" if site else "the demonstration"
        click.echo(f"no SITE given: held against {which}, {found.name}", err=True)
    made = tests_of(archive_file, number) if number else ()
    inquiry = inquiry_of(found, read_log(since_lines(lines, day)), since, made)
    if given and known:
        remember_site(archive_file, known.board, found, given, learned_file)
    if as_json:
        click.echo(json_document.text_of(inquiry))
    else:
        terminal.show(inquiry, console())
    if page_file:
        output_file.save("page", page_file, lambda path: _write_page(inquiry, path))


def inquiry_of(
    site: Site, log: RunLog, since: str | None = None, made: tuple[Made, ...] = ()
) -> Inquiry:
    """The whole answer for one log, with the small tests that were made."""
    log = without_tests(log, made)
    evidence = nights_of(log, site.board).acted
    if not evidence.nights:
        raise RillkeeperError(no_night_text(log, since))
    settings = settings_of(site)
    diagnosis = diagnosis_of(evidence, site, settings)
    strange = strange_words(site, settings, diagnosis)
    if strange:
        raise RillkeeperError(strange)
    diagnosis, small = informed(site, settings, diagnosis, made)
    return Inquiry(site, diagnosis, log, Shown(site.units), small)


def _write_page(inquiry: Inquiry, path: Path) -> None:
    output_file.need_pictures(path)
    from rillkeeper.pages.why import write  # Heavy: only where a page is asked for.

    write(inquiry, path)
