"""`rillkeeper report`: the nights that a board has kept, out of the archive or a log file."""

from dataclasses import replace
from pathlib import Path

import click

from rillkeeper.board.proof.record_page import document, last_of, proof_text
from rillkeeper.board.proof.records import Proof
from rillkeeper.commands import output_file
from rillkeeper.commands.coming_option import (
    check_calendars,
    coming_options,
    save_calendars,
    show_coming,
)
from rillkeeper.commands.diagnosis import ask_why, kept_or_asked, remember_site
from rillkeeper.commands.log_source import (
    archive_lines,
    file_lines,
    known_board,
    no_night_text,
    since_lines,
)
from rillkeeper.commands.options import (
    archive_option,
    archive_path,
    day_of,
    learned_option,
    since_option,
    with_learned,
)
from rillkeeper.commands.report_csv import save_csvs
from rillkeeper.commands.small_tests import tests_of
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.inquiry.why.found import Found
from rillkeeper.inquiry.why.small_tests.kept import Made
from rillkeeper.morning.coming import Coming, from_report
from rillkeeper.morning.coming.json_document import document as coming_json
from rillkeeper.morning.report import json_document, terminal
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.morning.weather import balance_of, read_file
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.screen import console, json_text
from rillkeeper.site.file import load_site
from rillsim.site import Site


@click.command()
@click.argument("logfile", required=False, type=click.Path(exists=True, dir_okay=False))
@archive_option
@click.option("--board", metavar="BOARD", help="Which board, where the archive has several.")
@since_option
@click.option(
    "--site",
    "site_file",
    type=click.Path(exists=True, dir_okay=False),
    help="The site's name, units and plot.",
)
@learned_option
@click.option(
    "--weather",
    "weather_file",
    type=click.Path(exists=True, dir_okay=False),
    help="A CSV table of daily weather, for what the crop used; goes with --site.",
)
@coming_options
@click.option("--quick", is_flag=True, help="Do not ask `why`: the board's own words only.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
@click.option("--csv", "csv_file", type=click.Path(dir_okay=False), help="A row a night.")
@click.option(
    "--troubles-csv",
    "troubles_file",
    type=click.Path(dir_okay=False),
    help="A row a trouble, worst first: since when, cause, what to do.",
)
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="The report page.")
def report(
    logfile: str | None,
    archive_file: str | None,
    board: str | None,
    since: str | None,
    site_file: str | None,
    learned_file: str | None,
    weather_file: str | None,
    ahead: int,
    calendar_files: tuple[str, ...],
    quick: bool,
    as_json: bool,
    csv_file: str | None,
    troubles_file: str | None,
    page_file: str | None,
) -> None:
    """Say what the board did, night by night, and what needs a hand.

    It reads the archive, which `rillkeeper log` fills, or a LOGFILE of a board's lines; no
    board need be there. Where it knows the site file (--site, or the one that the board was set
    up for), it also asks `why`: a trouble then has a name and a first place to look.

    A weather table has a heading row with units, such as "date, t_max [C], t_min [C],
    humidity [%], wind [m/s], sunshine [h], rain [mm]"; dew_point, radiation and et0 may stand in
    place of others, US units are read too, and what is missing is worked out by the rules of
    FAO-56. Commas, semicolons or tabs part the columns; decimal commas need one of the latter.

    \b
    Examples:
      rillkeeper report
      rillkeeper report --since 2026-07-09 --page nights.html
      rillkeeper report --site my-plot.toml --weather july.csv
    """
    day = day_of(since)
    output_file.check_folders(csv_file, troubles_file, page_file)
    check_calendars(calendar_files)
    _check(logfile, archive_file or board, site_file, weather_file, learned_file)
    known = None if logfile else known_board(archive_file, board)
    given = site_file
    if known and not given:
        site_file, learned_file = known.site_file, known.learned_file
    if calendar_files and not site_file:
        raise UsageMistake("--calendar needs the sets and the battery; add --site FILE")
    site = with_learned(load_site(site_file), learned_file) if site_file else None
    number = known.board if known else None
    lines = list(file_lines(Path(logfile)) if logfile else archive_lines(archive_file, number))
    tests = tests_of(archive_file, number) if number else ()
    made = report_of(since_lines(lines, day), site=site, tests=tests)
    if not made.nights:
        raise RillkeeperError(no_night_text(made.log, since))
    if site is not None and weather_file:
        days = read_file(Path(weather_file))
        made = replace(made, balance=balance_of(site, made.nights, days))
    coming = _coming(made, ahead, lines if day is not None else None)
    if site is not None and not quick and not made.other_site:
        if known and given:
            remember_site(archive_file, known.board, site, given, learned_file)
        whole = known.board if known and day is None else None
        made = replace(made, found=_found(made, site, archive_file, whole, tests))
    proofs = []
    if known and (as_json or page_file):
        proofs = last_of(archive_path(archive_file), known.board)
    if as_json:
        more: dict[str, object] = {"proof": document(proofs)} if proofs else {}
        more |= {"coming": coming_json(coming)} if coming else {}
        click.echo(json_text({**json_document.document(made), **more}))
    else:
        terminal.show(made, console())
        if coming:
            show_coming(coming)
        if known:
            click.echo(proof_text(archive_path(archive_file), known.board))
    save_csvs(made, csv_file, troubles_file)
    if page_file:
        output_file.save("page", page_file, lambda path: _write_page(made, path, proofs, coming))
    if coming:
        save_calendars(coming, calendar_files)


def _check(
    logfile: str | None,
    of_archive: str | None,
    site_file: str | None,
    weather_file: str | None,
    learned_file: str | None,
) -> None:
    """Options that do not go together."""
    if logfile and of_archive:
        raise UsageMistake("a LOGFILE goes without --board and --archive")
    if weather_file and not site_file:
        raise UsageMistake("--weather needs the plot, its crop and its soil; add --site FILE")
    if learned_file and not site_file:
        raise UsageMistake("--learned goes with the site that it was learned of; add --site FILE")


def _found(
    made: Report, site: Site, archive_file: str | None, board: str | None, tests: tuple[Made, ...]
) -> Found | None:
    """What `why` finds; of a board's whole log it is kept, and asked once."""
    if board is None:
        return ask_why(made.log, site, made=tests)
    return kept_or_asked(made.log, site, archive_file, board, tests)


def _coming(made: Report, ahead: int, whole: list[str] | None) -> Coming | None:
    """The nights after the last; ``whole`` is the log where the report shows only its end."""
    if made.site is None or whole is None:
        return from_report(made, ahead)
    log = read_log(whole)
    return from_report(made, ahead, nights_of(log).nights, log.entries)


def _write_page(made: Report, path: Path, proofs: list[Proof], coming: Coming | None) -> None:
    output_file.need_pictures(path)
    from rillkeeper.pages.report import write  # Heavy: only where a page is asked for.

    write(made, path, proofs, coming)
