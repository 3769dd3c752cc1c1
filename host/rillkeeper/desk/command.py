"""`rillkeeper desk`: one page on this machine, to try a site and to watch a board."""

import importlib.util
import socket
import sys
import webbrowser
from pathlib import Path

import click

from rillkeeper.commands.options import archive_option, archive_path
from rillkeeper.errors import RillkeeperError
from rillkeeper.site.file import DEMO, LARGEST_FILE

LOOPBACK = "127.0.0.1"
NEEDS = ("starlette", "uvicorn", "tomlkit")


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@archive_option
@click.option("--no-browser", is_flag=True, help="Only print the address; open it yourself.")
def desk(site: str | None, archive_file: str | None, no_browser: bool) -> None:
    """Open a page to try a site by hand, and to watch a board.

    The page is served on this machine only, works without a network, and asks for none. Its
    address holds a word that nobody else knows: keep it to yourself. Without SITE it begins
    with the demonstration site. Ctrl-C ends it.

    \b
    Examples:
      rillkeeper desk
      rillkeeper desk my-plot.toml
    """
    missing = [name for name in NEEDS if importlib.util.find_spec(name) is None]
    if missing:
        raise RillkeeperError(
            f"the desk needs {', '.join(missing)}; run: pip install 'rillkeeper[desk]'"
        )
    path = Path(site) if site else DEMO
    text = _text_of(path)
    with socket.create_server((LOOPBACK, 0)) as door:
        from rillkeeper.desk.guard import new_token  # What it needs is an extra.
        from rillkeeper.desk.server import Desk, Served

        port, token = door.getsockname()[1], new_token()
        address = f"http://{LOOPBACK}:{port}/{token}/"

        def ready() -> None:
            """Say where it is, now that it answers there."""
            click.echo(address)
            sys.stdout.flush()
            click.echo("the desk is open, on this machine only; Ctrl-C closes it", err=True)
            if not no_browser:
                webbrowser.open(address)

        try:
            lying = Desk((path.name, text), archive_path(archive_file))
            Served(lying, door, token, ready).serve_here()
        except KeyboardInterrupt:
            pass
    click.echo("the desk is closed", err=True)


def _text_of(path: Path) -> str:
    """The text of a site file, with its mistakes: the page shows them where they belong."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be read: {error.strerror}") from None
    if len(content) > LARGEST_FILE:
        raise RillkeeperError(f"{path}: far too long for a site")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RillkeeperError(f"{path}: not UTF-8 text; save the file as UTF-8") from None
