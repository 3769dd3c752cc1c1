"""`rillkeeper size`: work a site out before anything is bought."""

import importlib.util
import json
from pathlib import Path
from typing import Any

import click

from rillkeeper.commands.learnedoption import learned_option, with_learned
from rillkeeper.commands.sizeoptions import RANGE_SHAPE, VARY_SHAPE, axes_of, ranges_of
from rillkeeper.design.size import jsonfile, table, whatif
from rillkeeper.design.size.advise import advise
from rillkeeper.design.size.spread import DRAWS, spread_of
from rillkeeper.design.size.tables import Sheet
from rillkeeper.design.size.vary import Variation, vary
from rillkeeper.design.size.workings import Workings, work_out
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.screen import console
from rillkeeper.site.file import demo_site, load_site
from rillsim.site import Site

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
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Of those draws."
)
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
    if page_file and not Path(page_file).absolute().parent.is_dir():
        raise UsageMistake(f"{page_file}: no such folder; make it first or choose another")
    found = with_learned(load_site(site) if site else demo_site(), learned_file, ranges=True)
    asked = _Asked(found, wanted)
    asked.vary(varied)
    asked.advise(advised)
    asked.spread(ranged, draws, seed)
    work = work_out(found, wanted)
    if as_json:
        document = {**jsonfile.document(work), **asked.documents}
        click.echo(json.dumps(document, sort_keys=True, indent=2))
    else:
        table.show(work, console(), demo=site is None, more=asked.sheets, sure=asked.sure)
    if page_file:
        _write_page(work, asked, Path(page_file))


class _Asked:
    """What was asked beyond the plain sizing: tables for people, documents for programs."""

    def __init__(self, site: Site, wanted: int | None) -> None:
        self.site, self.wanted = site, wanted
        self.sheets: list[Sheet] = []
        self.documents: dict[str, Any] = {}
        self.sure = ""
        self.variation: Variation | None = None

    def vary(self, texts: tuple[str, ...]) -> None:
        """The site with one or two keys in steps."""
        axes = axes_of(texts, self.site)
        if axes:
            found = vary(self.site, axes, self.wanted)
            self.variation = found
            self.sheets += whatif.variation_sheets(found, self.site)
            self.documents["vary"] = jsonfile.variation(found)

    def advise(self, wished: bool) -> None:
        """The cheapest change."""
        if wished:
            found = advise(self.site, self.wanted)
            self.sheets += whatif.advice_sheets(found, self.site)
            self.documents["advice"] = jsonfile.advice(found)

    def spread(self, texts: tuple[str, ...], draws: int, seed: int) -> None:
        """The band of a site with ranges, of its own file or of the command line."""
        ranges = ranges_of(texts, self.site)
        if ranges:
            found = spread_of(self.site, ranges, wanted=self.wanted, draws=draws, seed=seed)
            self.sure = found.sentence
            self.sheets += whatif.spread_sheets(found, self.site)
            self.documents["spread"] = jsonfile.spread(found)


def _write_page(work: Workings, asked: _Asked, path: Path) -> None:
    if importlib.util.find_spec("matplotlib") is None:
        raise RillkeeperError(
            f"{path}: the page's pictures need matplotlib; run: pip install 'rillkeeper[page]'"
        )
    from rillkeeper.pages.size import Extra, write  # Heavy: only where a page is asked for.

    try:
        write(work, path, Extra(tuple(asked.sheets), asked.variation, asked.sure))
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be written: {error.strerror}") from None
    click.echo(f"page: {path}", err=True)
