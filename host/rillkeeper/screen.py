"""Where results and messages go: results on stdout, everything else on stderr."""

import click
from rich.console import Console


def console(*, err: bool = False) -> Console:
    """A console that keeps to `--no-color` and to the environment's NO_COLOR."""
    context = click.get_current_context(silent=True)
    plain = context is not None and context.color is False
    return Console(stderr=err, no_color=True if plain else None, highlight=False)
