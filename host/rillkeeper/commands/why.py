"""`rillkeeper why`: what is going wrong on a site, out of the nights that its board has kept."""

from pathlib import Path

import click

from rillkeeper.commands import output_file
from rillkeeper.commands.log_source import archive_lines, file_lines, no_night_text, since_lines
from rillkeeper.commands.options import (
    archive_option,
    day_of,
    learned_option,
    since_option,
    with_learned,
)
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.inquiry.why import json_document, terminal
from rillkeeper.inquiry.why.answer import Inquiry, strange_words
from rillkeeper.inquiry.why.cache import signatures_of
from rillkeeper.inquiry.why.diagnosis import diagnose
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.screen import console, progress_of
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
    it tries out some hundred troubles in the model, which takes a while; then it knows them.
    Without SITE the demonstration site is taken.

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
    lines = file_lines(Path(logfile)) if logfile else archive_lines(archive_file, board)
    found = with_learned(load_site(site) if site else demo_site(), learned_file)
    if not site:
        click.echo(f"no SITE given: held against the demonstration, {found.name}", err=True)
    inquiry = inquiry_of(found, read_log(since_lines(lines, day)), since)
    if as_json:
        click.echo(json_document.text_of(inquiry))
    else:
        terminal.show(inquiry, console())
    if page_file:
        output_file.save("page", page_file, lambda path: _write_page(inquiry, path))


def inquiry_of(site: Site, log: RunLog, since: str | None = None) -> Inquiry:
    """The whole answer for one log."""
    evidence = nights_of(log, site.board).acted
    if not evidence.nights:
        raise RillkeeperError(no_night_text(log, since))
    settings = settings_of(site)
    with progress_of("trying out what may go wrong on this site") as progress:
        signatures = signatures_of(site, settings, progress)
    diagnosis = diagnose(evidence, site, settings, signatures)
    strange = strange_words(site, settings, diagnosis)
    if strange:
        raise RillkeeperError(strange)
    return Inquiry(site, diagnosis, log, Shown(site.units))


def _write_page(inquiry: Inquiry, path: Path) -> None:
    output_file.need_pictures(path)
    from rillkeeper.pages.why import write  # Heavy: only where a page is asked for.

    write(inquiry, path)
