"""`rillkeeper size`: work a site out before anything is bought."""

from pathlib import Path
from typing import Any

import click

from rillkeeper.commands import output_file
from rillkeeper.commands.coming_option import check_calendars, coming_options, save_calendars
from rillkeeper.commands.options import day_of, learned_option, seed_option, with_learned
from rillkeeper.design.size import json_document, terminal, what_if_tables
from rillkeeper.design.size.advise import advise
from rillkeeper.design.size.what_if import (
    DRAWS,
    KEYS_MAX,
    TRIES_MAX,
    Axis,
    Variation,
    spread_of,
    vary,
)
from rillkeeper.design.size.workings import Workings, work_out
from rillkeeper.errors import UsageMistake
from rillkeeper.morning.coming import Coming, from_size
from rillkeeper.morning.coming.json_document import document as coming_json
from rillkeeper.morning.coming.words import table as coming_table
from rillkeeper.screen import json_text, progress_of, show
from rillkeeper.site.change import UnknownKey, check_set, find_row, parse_values
from rillkeeper.site.file import demo_site, load_site
from rillkeeper.text_table import TextTable
from rillsim.site import InputRange, Site

VARY_SHAPE = "KEY=A,B,C"
RANGE_SHAPE = "KEY=LOW..HIGH"
NIGHTS_MAX = 60
DRAWS_MAX = 2000
"""Some half a minute."""


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@learned_option
@click.option(
    "--nights",
    "wanted",
    type=click.IntRange(1, NIGHTS_MAX),
    help="How many nights a charge should last. [default: from the battery trips of the site]",
)
@click.option(
    "--vary",
    "varied",
    multiple=True,
    metavar=VARY_SHAPE,
    help="What if: a key of the site file in steps; give it twice for a grid.",
)
@click.option("--advise", "advised", is_flag=True, help="Look for the cheapest change that helps.")
@click.option(
    "--range",
    "ranged",
    multiple=True,
    metavar=RANGE_SHAPE,
    help="An input that is not known better; results then carry a band.",
)
@click.option(
    "--draws",
    type=click.IntRange(10, DRAWS_MAX),
    default=DRAWS,
    show_default=True,
    help="How many sites are drawn from the ranges.",
)
@seed_option("Of those draws.")
@coming_options
@click.option("--from", "from_day", metavar="DAY", help="First coming night, as 2026-07-09.")
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout, in SI units.")
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="A page with pictures.")
def size(
    site: str | None,
    learned_file: str | None,
    wanted: int | None,
    varied: tuple[str, ...],
    advised: bool,
    ranged: tuple[str, ...],
    draws: int,
    seed: int,
    ahead: int,
    calendar_files: tuple[str, ...],
    from_day: str | None,
    as_json: bool,
    page_file: str | None,
) -> None:
    """Size a site: does the spray cover the plot, and what is worth changing?

    Without SITE it is the demonstration site. A site that cannot work is an answer, with its
    reason, and exit status 0; a site file with mistakes leaves 6.

    \b
    Examples:
      rillkeeper size
      rillkeeper size my-plot.toml --nights 4 --advise
      rillkeeper size my-plot.toml --vary "line.bore=1/2 in,5/8 in,3/4 in"
      rillkeeper size my-plot.toml --range "water.lift=1 m..2 m"
    """
    output_file.check_folders(page_file)
    check_calendars(calendar_files)
    first_day = day_of(from_day, "--from")
    found = with_learned(load_site(site) if site else demo_site(), learned_file, ranges=True)
    asked = _Asked(found, wanted)
    asked.vary(varied)
    asked.advise(advised)
    asked.spread(ranged, draws, seed)
    work = work_out(found, wanted)
    coming = from_size(found, ahead, first_day)
    if as_json:
        more = {**asked.documents, "coming": coming_json(coming)}
        click.echo(json_text({**json_document.document(work), **more}))
    else:
        last = [coming_table(coming)] if work.facts.runs else []
        show(terminal.render(work, site is None, asked.tables, asked.sure, last))
    if page_file:
        output_file.save("page", page_file, lambda path: _write_page(work, asked, coming, path))
    save_calendars(coming, calendar_files)


class _Asked:
    """What was asked beyond the plain sizing: tables for people, documents for programs."""

    def __init__(self, site: Site, wanted: int | None) -> None:
        self.site, self.wanted = site, wanted
        self.tables: list[TextTable] = []
        self.documents: dict[str, Any] = {}
        self.sure = ""
        self.variation: Variation | None = None

    def vary(self, texts: tuple[str, ...]) -> None:
        """The site with one or two keys in steps."""
        axes = _axes(texts, self.site)
        if axes:
            with progress_of("working the varied sites out", after_s=1.0) as told:
                found = vary(self.site, axes, self.wanted, told)
            self.variation = found
            self.tables += what_if_tables.variation_tables(found, self.site)
            self.documents["vary"] = json_document.variation(found)

    def advise(self, wished: bool) -> None:
        """The cheapest change."""
        if wished:
            with progress_of("looking for the cheapest change", after_s=1.0) as told:
                found = advise(self.site, self.wanted, told)
            self.tables += what_if_tables.advice_tables(found, self.site)
            self.documents["advice"] = json_document.advice(found)

    def spread(self, texts: tuple[str, ...], draws: int, seed: int) -> None:
        """The band of a site with ranges, of its own file or of the command line."""
        ranges = _ranges(texts, self.site)
        if ranges:
            with progress_of(f"{draws} draws from its ranges", after_s=1.0) as told:
                found = spread_of(
                    self.site, ranges, wanted=self.wanted, draws=draws, seed=seed, progress=told
                )
            self.sure = found.sentence
            self.tables += what_if_tables.spread_tables(found, self.site)
            self.documents["spread"] = json_document.spread(found)


def _axes(texts: tuple[str, ...], site: Site) -> tuple[Axis, ...]:
    """Read every `--vary`. Raises UsageMistake, or SiteError for values out of range."""
    if len(texts) > KEYS_MAX:
        raise UsageMistake(f"--vary may be given {KEYS_MAX} times at most, not {len(texts)}")
    axes = []
    for text in texts:
        key, rest = _split(text, "--vary", VARY_SHAPE, site)
        values = parse_values("--vary", key, rest.split(","), site)
        axes.append(Axis(key, tuple(values)))
    tries = 1
    for axis in axes:
        tries *= len(axis.values)
    if tries > TRIES_MAX:
        raise UsageMistake(f"--vary asks for {tries} sites; {TRIES_MAX} at most")
    if len({axis.key for axis in axes}) < len(axes):
        raise UsageMistake(f"--vary names {axes[0].key} twice; put all its values in one list")
    return tuple(axes)


def _ranges(texts: tuple[str, ...], site: Site) -> tuple[InputRange, ...]:
    """The ranges of the site file, and those of every `--range` in place of its own.

    Raises UsageMistake, or SiteError for values out of range.
    """
    ranges = []
    for text in texts:
        key, rest = _split(text, "--range", RANGE_SHAPE, site)
        _, row = find_row(key)
        ends = rest.split("..") if ".." in rest else rest.split(" to ")
        if len(ends) != 2:
            raise UsageMistake(f'--range "{text}": write {RANGE_SHAPE}, two dots or "to" between')
        if not (row.in_units or row.kind in ("number", "whole")):
            raise UsageMistake(f"--range {key}: is not a quantity; try --vary")
        low, high = parse_values("--range", key, ends, site)
        if low > high:
            raise UsageMistake(f'--range "{text}": the lower end comes first')
        ranges.append(InputRange(key, low, high))
    if len({one.key for one in ranges}) < len(ranges):
        raise UsageMistake("--range names a key twice")
    named = {one.key for one in ranges}
    return (*(one for one in site.ranges if one.key not in named), *ranges)


def _split(text: str, option: str, shape: str, site: Site) -> tuple[str, str]:
    key, found, rest = text.partition("=")
    key = key.strip()
    if not found or not rest.strip():
        raise UsageMistake(f'{option} "{text}": write {shape}')
    try:
        find_row(key)
        check_set(site, key)
    except UnknownKey as error:
        raise UsageMistake(f"{option}: {error}") from None
    return key, rest


def _write_page(work: Workings, asked: _Asked, coming: Coming, path: Path) -> None:
    output_file.need_pictures(path)
    from rillkeeper.pages.coming import part_of
    from rillkeeper.pages.size import Extra, write  # Heavy: only where a page is asked for.

    part = part_of(coming) if work.facts.runs else None
    write(work, path, Extra(tuple(asked.tables), asked.variation, asked.sure, part))
