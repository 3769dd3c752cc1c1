"""Options that several commands have: which archive, from which day on, what was learned."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from rillkeeper.data_folder import data_folder
from rillkeeper.errors import UsageMistake
from rillkeeper.runlog.store import FILE
from rillsim.site import Site

VARIABLE = "RILLKEEPER_ARCHIVE"
_EPOCH = date(1970, 1, 1)

Command = Callable[..., Any]


def archive_option(command: Command) -> Command:
    """The option ``--archive``."""
    return click.option(
        "--archive",
        "archive_file",
        envvar=VARIABLE,
        show_envvar=True,
        type=click.Path(dir_okay=False),
        help=f"Another archive than {FILE} in your data folder.",
    )(command)


def since_option(command: Command) -> Command:
    """The option ``--since``."""
    return click.option("--since", metavar="DAY", help="From this day on, as 2026-07-09.")(command)


def seed_option(text: str) -> Callable[[Command], Command]:
    """The option ``--seed``, with what it is the seed of."""
    return click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help=text)


def archive_path(given: str | None) -> Path:
    """The archive to use."""
    return Path(given) if given else data_folder() / FILE


def day_of(text: str | None, option: str = "--since") -> int | None:
    """The number of a day that was given."""
    if text is None:
        return None
    try:
        return (date.fromisoformat(text) - _EPOCH).days
    except ValueError:
        example = f"{option} 2026-07-09"
        raise UsageMistake(f'{option} "{text}" is not a day; example: {example}') from None


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
