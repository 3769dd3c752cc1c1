"""`rillkeeper site`: check a site file, or write a new one to fill in."""

from pathlib import Path

import click

from rillkeeper.design.standing import standing_warning
from rillkeeper.errors import RillkeeperError, SiteError
from rillkeeper.screen import json_text
from rillkeeper.site.file import load_site
from rillkeeper.site.template import commented_template
from rillkeeper.units import SYSTEMS
from rillkeeper.units import format as format_quantity
from rillsim.site import Site

JSON_SCHEMA = 1


@click.group()
def site() -> None:
    """Check a site file, or write a new one."""


@site.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False))
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def check(file: str, as_json: bool) -> None:
    """List every mistake in a site file at once; exit status 6 if there is one.

    \b
    Example:
      rillkeeper site check my-plot.toml
    """
    if not as_json:
        found = load_site(file)
        click.echo(_summary(Path(file).name, found))
        if warning := standing_warning(found):
            click.echo(f"  but {warning}", err=True)
        return
    mistakes: list[dict[str, str]] = []
    failure: SiteError | None = None
    try:
        load_site(file)
    except SiteError as error:
        failure = error
        mistakes = [vars(mistake) for mistake in error.mistakes]
    document = {"schema": JSON_SCHEMA, "file": Path(file).name, "mistakes": mistakes}
    click.echo(json_text(document))
    if failure:
        raise click.exceptions.Exit(failure.exit_code)


@site.command()
@click.argument("file", required=False, type=click.Path(dir_okay=False))
@click.option("--units", "system", type=click.Choice(SYSTEMS), default="metric", show_default=True)
def new(file: str | None, system: str) -> None:
    """Write a commented site file to fill in, or print it where no FILE is named.

    A file that exists is never written over.

    \b
    Example:
      rillkeeper site new my-plot.toml --units us
    """
    text = commented_template(system)
    if file is None:
        click.echo(text, nl=False)
        return
    try:
        with Path(file).open("x", encoding="utf-8", newline="\n") as target:
            target.write(text)
    except FileExistsError:
        raise RillkeeperError(f"{file}: is there already; choose another name") from None
    except OSError as error:
        raise RillkeeperError(f"{file}: cannot be written: {error.strerror}") from None
    click.echo(f"{file}: written; say what is fitted under [board], then run")
    click.echo(f"  rillkeeper site check {file}")


def _summary(name: str, found: Site) -> str:
    """What was read, in a few lines, so that a wrong file is noticed."""

    def shown(value: float, dimension: str) -> str:
        return format_quantity(value, dimension, found.units)

    plot = f"{shown(found.plot.width_m, 'length')} x {shown(found.plot.depth_m, 'length')}"
    flow = shown(found.pump.open_flow_m3_s, "flow")
    hose = f"{shown(found.line.length_m, 'length')} of {shown(found.line.bore_m, 'bore')}"
    counts = (
        _count(len(found.sets), "set") + " a night",
        _count(len(found.battery_trips), "battery trip"),
        _count(len(found.faults), "fault"),
        *([_count(len(found.ranges), "range")] if found.ranges else []),
    )
    return (
        f"{name}: no mistakes\n  {found.name}\n"
        f"  plot {plot}, pump {flow} open, hose {hose}\n  {', '.join(counts)}"
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
