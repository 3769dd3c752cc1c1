"""`rillkeeper limits`: the board's settings for a site, each with its reason."""

from typing import Any

import click
from rich.table import Table
from rich.text import Text

from keeper.settings import SCHEMA as KEEPER_SCHEMA
from rillkeeper.commands import output_file
from rillkeeper.commands.options import learned_option, with_learned
from rillkeeper.design.limits import remedies
from rillkeeper.design.limits.derive import check_ends, limits_of, middle_note
from rillkeeper.design.limits.working_site import Limit
from rillkeeper.design.standing import check_standing
from rillkeeper.errors import NoSafeLimit
from rillkeeper.screen import json_text, open_table, show
from rillkeeper.site.file import demo_site, load_site
from rillsim.site import Site

JSON_SCHEMA = 1


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@learned_option
@click.option(
    "-o", "--output", "target", type=click.Path(dir_okay=False), help="Write the settings here."
)
@click.option("--json", "as_json", is_flag=True, help="One JSON document on stdout.")
def limits(site: str | None, learned_file: str | None, target: str | None, as_json: bool) -> None:
    """Derive the board's settings from a site, each with the reason for it.

    Every limit stands between what is normal and what does harm. Where there is no room for
    one the site is refused, saying why, with exit status 6. A range in the site file counts
    with its middle, and the limits must hold at both its ends. Without SITE it is the
    demonstration site.

    \b
    Example:
      rillkeeper limits my-plot.toml -o settings.json
    """
    output_file.check_folders(target)
    found = with_learned(load_site(site) if site else demo_site(), learned_file)
    check_standing(found)
    derived = _derived(found)
    check_ends(found, {limit.key: limit.value for limit in derived})
    note = middle_note(found)
    if note:
        click.echo(note, err=True)
    text = json_text(document(found, derived))
    if target:
        output_file.save(
            "settings", target, lambda path: path.write_text(f"{text}\n", "utf-8", newline="\n")
        )
    if as_json:
        click.echo(text)
    elif not target:
        show(Text(found.name, style="bold"), table_of(derived))


def _derived(site: Site) -> list[Limit]:
    """Raises NoSafeLimit, with what to buy where that is known."""
    try:
        return limits_of(site)
    except NoSafeLimit as refusal:
        mend = remedies.named(site) or "; `rillkeeper size` says what this site lacks"
        raise NoSafeLimit(f"{refusal}{mend}") from None


def document(site: Site, derived: list[Limit]) -> dict[str, Any]:
    """What the file holds: what is not in it keeps the board's own default."""
    return {
        "schema": JSON_SCHEMA,
        "site": site.name,
        "settings": {limit.key: limit.value for limit in derived},
        "reasons": {limit.key: limit.reason for limit in derived},
    }


def table_of(derived: list[Limit]) -> Table:
    """A row a setting: name, value, unit, reason."""
    units = {row[0]: row[1] for row in KEEPER_SCHEMA}
    table = open_table()
    table.add_column("setting", no_wrap=True)
    table.add_column("value", justify="right", no_wrap=True)
    table.add_column("unit", no_wrap=True)
    table.add_column("because")
    for limit in derived:
        table.add_row(limit.key, str(limit.value), units[limit.key], limit.reason)
    return table
