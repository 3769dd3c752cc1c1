"""The option of commands that take what was learned in place of the site file's own values."""

from collections.abc import Callable
from typing import Any

import click

from rillsim.site import Site

Command = Callable[..., Any]


def learned_option(command: Command) -> Command:
    """The option ``--learned``."""
    return click.option(
        "--learned",
        "learned_file",
        type=click.Path(exists=True, dir_okay=False),
        help="A file that `rillkeeper learn` has written for this site.",
    )(command)


def with_learned(site: Site, learned_file: str | None, ranges: bool = False) -> Site:
    """The site, with what was learned where a file is given."""
    if learned_file is None:
        return site
    from rillkeeper.inquiry.learn.overlay import site_with_learned

    return site_with_learned(site, learned_file, ranges)
