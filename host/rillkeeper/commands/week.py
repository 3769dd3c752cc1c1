"""`rillkeeper week`: replay nights on a site, and show what the board made of them."""

from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

import click

from rillkeeper.commands import output_file
from rillkeeper.commands.coming_option import (
    check_calendars,
    coming_options,
    save_calendars,
    show_coming,
)
from rillkeeper.commands.diagnosis import Beforehand, ask_why
from rillkeeper.commands.fault_option import EXAMPLE, GROWING, SHAPE, parse_fault
from rillkeeper.commands.options import learned_option, seed_option, with_learned
from rillkeeper.commands.report_csv import save_csvs
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.morning.coming import Coming, from_report
from rillkeeper.morning.coming.json_document import document as coming_json
from rillkeeper.morning.report import json_document, terminal
from rillkeeper.morning.report.report import Report, report_of
from rillkeeper.screen import console, json_text, progress_of
from rillkeeper.site.file import demo_site, load_site
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, Site

NIGHTS_MAX = 60


class NotFelt(RillkeeperError):
    """A fault was asked for that the plant never showed: the replay proves nothing about it."""


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@learned_option
@click.option(
    "--nights",
    "count",
    type=click.IntRange(1, NIGHTS_MAX),
    default=7,
    show_default=True,
    help="How many nights, noon to noon.",
)
@seed_option("Of weather, noise and tolerances; the same seed gives the same week.")
@click.option(
    "--fault",
    "faults",
    multiple=True,
    metavar=SHAPE,
    help=f"A fault more, as {EXAMPLE}, or as {GROWING} for one that grows to its severity "
    "over five days; may be given more than once.",
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
@click.option("--log", "log_file", type=click.Path(dir_okay=False), help="The board's own log.")
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="The report page.")
def week(
    site: str | None,
    learned_file: str | None,
    count: int,
    seed: int,
    faults: tuple[str, ...],
    ahead: int,
    calendar_files: tuple[str, ...],
    quick: bool,
    as_json: bool,
    csv_file: str | None,
    troubles_file: str | None,
    log_file: str | None,
    page_file: str | None,
) -> None:
    """Replay nights on a site: the board's own control against pump, battery, soil and weather.

    Without SITE it is the demonstration week. The verdict carries what `rillkeeper why` finds in
    the board's log; the first time for a site that takes up to half a minute.

    \b
    Examples:
      rillkeeper week
      rillkeeper week my-plot.toml --nights 3 --fault outlet_shut@2+20min --page week.html
    """
    added = tuple(parse_fault(text) for text in faults)
    found = with_learned(load_site(site) if site else demo_site(), learned_file)
    _check_nights(found, added, count)
    output_file.check_folders(csv_file, troubles_file, log_file, page_file)
    check_calendars(calendar_files)
    settings = settings_of(found)
    with ExitStack() as stack:
        trials = None if quick else stack.enter_context(Beforehand(found))
        with progress_of(f"{count} night{'s' if count > 1 else ''}") as progress:
            done = replay(
                found, settings, nights=count, seed=seed, faults=added, progress=progress
            )
        if trials is not None:
            trials.wait()
    report = report_of(
        done.log,
        site=done.site,
        truth=done.truth,
        trace=done.trace,
        faults=done.faults,
        soil=done.soil,
        settings=done.settings,
        start_day=done.start_day,
    )
    if not quick:
        report = replace(report, found=ask_why(report.log, found, complete=True))
    coming = from_report(report, ahead)
    assert coming
    if as_json:
        more = {"ledger": json_document.ledger(done.accounts), "coming": coming_json(coming)}
        click.echo(json_text({**json_document.document(report), **more}))
    else:
        terminal.show(report, console())
        show_coming(coming)
    save_csvs(report, csv_file, troubles_file)
    if log_file:
        text = "".join(line + "\n" for line in done.log)
        output_file.save("log", log_file, lambda path: path.write_text(text, encoding="ascii"))
    if page_file:
        output_file.save("page", page_file, lambda path: _write_page(report, path, coming))
    save_calendars(coming, calendar_files)
    _check_felt(done)


def _write_page(report: Report, path: Path, coming: Coming) -> None:
    output_file.need_pictures(path)
    from rillkeeper.pages.report import write  # Heavy: only where a page is asked for.

    write(report, path, coming=coming)


def _check_nights(site: Site, added: tuple[FaultSpec, ...], count: int) -> None:
    """A fault on the command line must lie in the nights that are replayed."""
    for fault in added:
        if not 1 <= fault.night <= count:
            raise UsageMistake(
                f'fault "{fault.name}" is for night {fault.night}; '
                f"nights 1 to {count} are replayed (see --nights)"
            )


def _check_felt(done: Week) -> None:
    """A run whose fault was not felt proves nothing about that fault."""
    missing = [
        f"{fault.spec.name} (night {fault.spec.night})"
        for fault in done.faults
        if not fault.felt and fault.spec.night <= done.nights
    ]
    if missing:
        raise NotFelt(
            f"not felt in the plant: {', '.join(missing)}; it may have come when the pump "
            "stood still, or too gently: choose another time or a higher severity"
        )
