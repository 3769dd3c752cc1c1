"""`rillkeeper size`: work a site out before anything is bought."""

import json

import click

from rillkeeper import sizejson, sizetable
from rillkeeper.screen import console
from rillkeeper.sitefile import demo_site, load_site
from rillkeeper.sizing.workings import work_out

NIGHTS_MAX = 60


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@click.option(
    "--nights",
    "wanted",
    type=click.IntRange(1, NIGHTS_MAX),
    help="How many nights a charge should last. [default: from the battery trips of the site]",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout, in SI units.")
def size(site: str | None, wanted: int | None, as_json: bool) -> None:
    """Size a site: does the spray cover the plot, and what is worth changing?

    Without SITE it is the demonstration site. A site that cannot work is an answer, with its
    reason, and exit status 0; a site file with mistakes leaves 6.

    \b
    Examples:
      rillkeeper size
      rillkeeper size my-plot.toml --nights 4
    """
    found = load_site(site) if site else demo_site()
    work = work_out(found, wanted)
    if as_json:
        click.echo(json.dumps(sizejson.document(work), sort_keys=True, indent=2))
        return
    sizetable.show(work, console(), demo=site is None)
