"""`rillkeeper card`: what lamp and button mean, for the plot; as text, or as a sheet to print."""

import click
from rich.padding import Padding
from rich.text import Text

from rillkeeper.commands import output_file
from rillkeeper.pages.plot_card import (
    BAUD,
    EXAMPLE,
    SHOWN_TENTHS,
    WORD,
    button_rows,
    characters,
    write,
)
from rillkeeper.screen import show
from rillkeeper.site.file import load_site

BAR = 60
"""Columns of a bar: six seconds, which hold a whole turn of each."""


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@click.option("--page", "page_file", type=click.Path(dir_okay=False), help="A sheet to print.")
def card(site: str | None, page_file: str | None) -> None:
    """Print what the board's lamp and button mean, for somebody at the plot without a laptop.

    \b
    Examples:
      rillkeeper card
      rillkeeper card my-plot.toml --page card.html
    """
    output_file.check_folders(page_file)
    found = load_site(site) if site else None
    click.echo("The lamp: # is lit, a tenth of a second each; count the flashes of a group")
    for one in characters():
        click.echo(f"\n{_bar(one.bars)}")
        show(Padding(Text(f"{one.shows}: {one.means}. {one.do}"), (0, 0, 0, 2)))
    click.echo("\nThe button")
    for name, does in button_rows(found):
        show(Padding(Text(f"{name}: {does}"), (0, 0, 0, 2)))
    click.echo(f'\nA phone with a serial terminal and a cable, {BAUD} baud: type "{WORD}"')
    for line in EXAMPLE:
        click.echo(f"  {line}")
    if page_file:
        output_file.save("page", page_file, lambda path: write(found, path))


def _bar(bars: tuple[tuple[float, float], ...]) -> str:
    """The first BAR tenths of a second."""
    middles = [(place + 0.5) / SHOWN_TENTHS for place in range(BAR)]
    return "".join(
        "#" if any(begins <= at < begins + length for begins, length in bars) else "."
        for at in middles
    )
