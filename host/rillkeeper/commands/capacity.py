"""`rillkeeper capacity`: what a used battery still holds, by a test or by the pump's nights."""

import re
import sys
from dataclasses import replace
from pathlib import Path

import click

from rillkeeper import units
from rillkeeper.commands import output_file
from rillkeeper.commands.log_source import archive_lines, file_lines, since_lines
from rillkeeper.commands.options import archive_option, day_of, since_option
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.nights import load_of, nights_on_a_charge
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.inquiry.capacity import Capacity, from_nights, from_rests, steps, to_the_end
from rillkeeper.inquiry.capacity.measure import LEAST_SHARE
from rillkeeper.inquiry.capacity.site_line import with_measured
from rillkeeper.inquiry.capacity.steps import CAUTION
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.screen import json_text
from rillkeeper.site.file import load_site
from rillsim.site import BatterySpec, Site
from rillsim.supply.chemistry import CHEMISTRY

SCHEMA = 1


@click.command()
@click.argument("site", type=click.Path(exists=True, dir_okay=False))
@click.option("--load", metavar="CURRENT", help='What the lamp drew, as "5.2 A".')
@click.option("--lasted", metavar="TIME", help='How long it was on, as "9.5 h".')
@click.option("--drawn", metavar="CHARGE", help='What was drawn, in place of both: "26 Ah".')
@click.option(
    "--rested",
    nargs=2,
    metavar="FULL USED",
    help='Volts at rest before and after: "12.64 V" "12.31 V"; without, it was to the end.',
)
@click.option("--warmth", metavar="TEMPERATURE", help="Of the battery. [default: the site's]")
@click.option("--nights", "by_nights", is_flag=True, help="Out of the pump's nights in the log.")
@click.option("--log", "logfile", type=click.Path(exists=True, dir_okay=False), help="Its file.")
@archive_option
@click.option("--board", metavar="BOARD", help="Which board, where the archive has several.")
@since_option
@click.option("--write", "written", is_flag=True, help="Put it into the site file, one line.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def capacity(
    site: str,
    load: str | None,
    lasted: str | None,
    drawn: str | None,
    rested: tuple[str, str] | None,
    warmth: str | None,
    by_nights: bool,
    logfile: str | None,
    archive_file: str | None,
    board: str | None,
    since: str | None,
    written: bool,
    as_json: bool,
) -> None:
    """Find what a used battery still holds, for the key `measured` of its site file.

    Without readings it says how to take them, with the numbers of this battery. `size`, `limits`
    and `week` then reckon with the charge that was found, in the place of an age; `size` also with
    how sure it is.

    \b
    Examples:
      rillkeeper capacity my-plot.toml
      rillkeeper capacity my-plot.toml --load "5.2 A" --lasted "9.5 h" --warmth "18 C"
      rillkeeper capacity my-plot.toml --drawn "26 Ah" --rested "12.64 V" "12.31 V" --write
      rillkeeper capacity my-plot.toml --nights
    """
    found = load_site(site)
    day = day_of(since)
    by_nights = by_nights or logfile is not None
    if by_nights and (load or lasted or drawn or rested):
        raise UsageMistake("--nights takes no readings; give the one or the others")
    if logfile and (board or archive_file):
        raise UsageMistake("--log goes without --board and --archive")
    if by_nights:
        lines = file_lines(Path(logfile)) if logfile else archive_lines(archive_file, board)
        log = read_log(since_lines(lines, day))
        measured = from_nights(found, nights_of(log, found.board).runs)
    elif load or lasted or drawn or rested:
        measured = _by_readings(found.battery, load, lasted, drawn, rested, warmth)
    elif written or as_json:
        raise UsageMistake("no readings; run it without options for how to take them")
    else:
        _tell_steps(found, site)
        asked = _ask(found.battery) if sys.stdin.isatty() else None
        if asked is None:
            return
        measured = asked
    value = _value(measured, found.battery.capacity_ah)
    if as_json:
        click.echo(json_text(_document(measured, found.battery.capacity_ah)))
    else:
        _tell(found, measured, value)
    if written:
        _write(Path(site), value)


def _write(site: Path, value: str) -> None:
    """Put the value into the site file, and keep the file as it was beside it."""
    if not value:
        raise RillkeeperError(f"{site.name}: left as it is; it takes no battery so worn")
    text = with_measured(site.read_text(encoding="utf-8-sig"), value, site.name)
    backup = Path(f"{site}.bak")
    backup.write_bytes(site.read_bytes())
    output_file.save(
        "site", str(site), lambda path: path.write_text(text, encoding="utf-8", newline="")
    )
    click.echo(f"before: {backup}", err=True)


def _ask(battery: BatterySpec) -> Capacity | None:
    """Ask a person at a terminal for the readings; None where there are none yet."""
    ways = ["none", "end"] if battery.chemistry == "lfp" else ["none", "rests", "end"]
    click.echo()
    way = click.prompt("Readings at hand?", type=click.Choice(ways), default="none")
    if way == "none":
        return None
    current_a = _asked("Amperes of the lamp, mean of both readings", "5.2 A", "current")
    hours = _asked("How long was it on", "9 h 30 min", "time") / 3600.0
    kind = CHEMISTRY[battery.chemistry]
    if way == "end":
        warmth_c = _asked("How warm is the battery", "18 C", "temperature")
        return to_the_end(kind, current_a, hours, warmth_c)
    full_v = _asked("Volts at rest before, the first number", "12.64 V", "voltage")
    used_v = _asked("Volts at rest after, the second number", "12.31 V", "voltage")
    return from_rests(kind, full_v, used_v, current_a * hours)


def _asked(question: str, example: str, dimension: str) -> float:
    """A quantity, asked for until it is one."""
    while True:
        text = click.prompt(f"{question} (as {example})")
        try:
            return _quantity(question, text, dimension)
        except UsageMistake as error:
            click.echo(f"  {error}")


def _by_readings(
    battery: BatterySpec,
    load: str | None,
    lasted: str | None,
    drawn: str | None,
    rested: tuple[str, str] | None,
    warmth: str | None,
) -> Capacity:
    """The capacity from what was typed. Raises UsageMistake for what is missing or no quantity."""
    kind = CHEMISTRY[battery.chemistry]
    if drawn and (load or lasted):
        raise UsageMistake("--drawn stands in place of --load and --lasted")
    if not drawn and not (load and lasted):
        missing = "--lasted" if load else "--load"
        raise UsageMistake(f"{missing} is missing: what was drawn is a current for a time")
    if not rested:
        if drawn:
            raise UsageMistake("--drawn goes with --rested; to the end needs --load and --lasted")
        current_a = _quantity("--load", load or "", "current")
        hours = _quantity("--lasted", lasted or "", "time") / 3600.0
        temperature_c = battery.temperature_c
        if warmth:
            temperature_c = _quantity("--warmth", warmth, "temperature")
        return to_the_end(kind, current_a, hours, temperature_c)
    full_v, used_v = (_quantity("--rested", text, "voltage") for text in rested)
    if drawn:
        drawn_ah = _quantity("--drawn", drawn, "charge") / 3600.0
    else:
        current_a = _quantity("--load", load or "", "current")
        drawn_ah = current_a * _quantity("--lasted", lasted or "", "time") / 3600.0
    return from_rests(kind, full_v, used_v, drawn_ah)


def _quantity(option: str, text: str, dimension: str) -> float:
    """A quantity as it is typed; a time on a clock, "9:30", is in hours. Raises UsageMistake."""
    hours = dimension == "time" and re.fullmatch(r"\s*[0-9]+:[0-9]+\s*", text)
    try:
        value = units.parse(f"{text} h" if hours else text, dimension)
    except units.UnitError as error:
        raise UsageMistake(f'{option} "{text}": {error}') from None
    if dimension != "temperature" and value <= 0.0:
        raise UsageMistake(f'{option} "{text}": must be more than nothing')
    return value


def _tell_steps(site: Site, file: str) -> None:
    battery = site.battery
    click.echo(f"{site.name}: {battery.chemistry}, {battery.capacity_ah:g} Ah by its label")
    click.echo(CAUTION)
    for heading, one_way in steps(site, file):
        click.echo(f"\n{heading}")
        for number, step in enumerate(one_way, 1):
            click.echo(f"  {number}. {step}")


def _tell(site: Site, measured: Capacity, value: str) -> None:
    rated_ah = site.battery.capacity_ah
    click.echo(
        f"It holds {measured.ah:.0f} Ah of the {rated_ah:g} Ah on its label "
        f"({100 * measured.ah / rated_ah:.0f} %), give or take {measured.spread_ah:.0f} Ah: "
        f"{measured.how}."
    )
    if not value:
        click.echo(
            "It is worn out: no limits are worked out for it, and the site file takes none such. "
            "It belongs to the recycler."
        )
        return
    if measured.ah < 0.8 * rated_ah:
        click.echo("Below four fifths of its label a lead battery is at the end of its life.")
    before, now = _nights(site), _nights(_with(site, measured))
    click.echo(f"A charge then gives {now:.1f} nights; by the site file as it is, {before:.1f}.")
    click.echo(f'For the site file, under [battery]: measured = "{value}"')


def _with(site: Site, measured: Capacity) -> Site:
    low_ah, high_ah = measured.ends_ah(site.battery.capacity_ah)
    return replace(site, battery=replace(site.battery, measured_ah=(low_ah + high_ah) / 2.0))


def _nights(site: Site) -> float:
    work = WorkingSite(site)
    if work.flow_m3_s() <= 0.0:
        return 0.0
    return nights_on_a_charge(site.battery, load_of(work), work.discharge)[0]


def _value(measured: Capacity, rated_ah: float) -> str:
    """As it stands in the site file; empty for a battery that this takes none of."""
    if measured.ah < LEAST_SHARE * rated_ah:
        return ""
    low, high = (f"{end:.3g} Ah" for end in measured.ends_ah(rated_ah))
    return f"{low} to {high}" if low != high else low


def _document(measured: Capacity, rated_ah: float) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "capacity_ah": round(measured.ah, 2),
        "spread_ah": round(measured.spread_ah, 2),
        "from": measured.how,
        "site_file": _value(measured, rated_ah) or None,
    }
