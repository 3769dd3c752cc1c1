"""The command `rillkeeper`: its options, its parts, and the status that it leaves behind."""

import importlib
import io
import os
import sys
import traceback
from collections.abc import Mapping
from typing import Any

import click

from rillkeeper import __version__
from rillkeeper.errors import INTERRUPTED, RillkeeperError

EXIT_CODES = """\b
Exit status:
    0  done
    1  failed
    2  usage: the command line makes no sense
    3  no board, or its port is busy
    4  the board reports a trip or a lockout
    5  what was read back differs
    6  the site file has mistakes
  130  interrupted
"""

LATER: Mapping[str, tuple[str, str]] = {
    "battery": ("rillkeeper.commands.tell", "Say what charge is in a battery just put on."),
    "board": ("rillkeeper.commands.board", "Run a virtual board on a pseudo-terminal."),
    "capacity": ("rillkeeper.commands.capacity", "Find what a used battery still holds."),
    "card": ("rillkeeper.commands.card", "Print what lamp and button mean, for the plot."),
    "clear": ("rillkeeper.commands.tell", "Clear a lockout or a stop, after looking."),
    "clock": ("rillkeeper.commands.clock", "Show or set the board's clock."),
    "desk": ("rillkeeper.desk.command", "Open a page to try a site, and to watch a board."),
    "flash": ("rillkeeper.commands.flash", "Put the firmware on a board."),
    "hand": ("rillkeeper.commands.hand", "Put a hand on a virtual board's site."),
    "hold": ("rillkeeper.commands.tell", "Skip the sets of some nights."),
    "learn": ("rillkeeper.commands.learn", "Fit a site's uncertain inputs to the log."),
    "limits": ("rillkeeper.commands.limits", "Derive the board's settings from a site."),
    "log": ("rillkeeper.commands.log", "Read the board's run log into the archive."),
    "ports": ("rillkeeper.commands.ports", "List the ports a board may be behind."),
    "prove": ("rillkeeper.commands.prove", "Prove every protection, step by step."),
    "relearn": ("rillkeeper.commands.tell", "Say that nozzle or hose is another."),
    "report": ("rillkeeper.commands.report", "Say what a board did, night by night."),
    "run": ("rillkeeper.commands.run", "Start the pump by hand."),
    "season": ("rillkeeper.commands.season", "Replay whole seasons, in dry years too."),
    "settings": ("rillkeeper.commands.settings", "Show, save or write the board's settings."),
    "site": ("rillkeeper.commands.site", "Check a site file, or write a new one."),
    "size": ("rillkeeper.commands.size", "Work a site out before anything is bought."),
    "status": ("rillkeeper.commands.status", "Show what the board does and reads."),
    "stop": ("rillkeeper.commands.run", "Stop whatever is going on."),
    "test": ("rillkeeper.commands.test", "Make one small test that parts two causes."),
    "watch": ("rillkeeper.commands.status", "Look at the board once a second."),
    "week": ("rillkeeper.commands.week", "Replay a week of nights on a site."),
    "why": ("rillkeeper.commands.why", "Name what is going wrong, out of the log."),
}
"""Commands whose module is imported only when they are used: name -> (module, sentence)."""


class Root(click.Group):
    """A group that loads its commands late and turns every error into one status."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(LATER)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in LATER:
            return None
        module, _ = LATER[cmd_name]
        command = getattr(importlib.import_module(module), cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, sentence) for name, (_, sentence) in sorted(LATER.items())])

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; with `--debug` say where in the code its error came from."""
        try:
            return super().invoke(ctx)
        except (click.exceptions.Exit, click.ClickException, click.Abort):
            raise
        except Exception:
            if ctx.params["debug"]:
                traceback.print_exc()
            raise

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run, say in one line what went wrong, and leave with the status for it."""
        extra["standalone_mode"] = False
        try:
            status = super().main(*args, **extra)
        except click.ClickException as error:
            click.echo(_one_line(error), err=True)
            status = error.exit_code
        except click.Abort:
            click.echo("rillkeeper: interrupted", err=True)
            status = INTERRUPTED
        except RillkeeperError as error:
            click.echo(f"rillkeeper: {error}", err=True)
            status = error.exit_code
        except Exception as error:  # The last line of defence: no traceback for a gardener.
            what = f"{type(error).__name__}: {error}".rstrip(": ")
            advice = "a fault in rillkeeper itself; run `rillkeeper --debug ...` for details"
            click.echo(f"rillkeeper: {what} ({advice})", err=True)
            status = 1
        sys.exit(status if isinstance(status, int) else 0)


def _one_line(error: click.ClickException) -> str:
    """What is wrong with the command line, and where its help is."""
    text = error.format_message()
    if text.startswith("Usage:"):  # A group without a command: its help is the answer.
        return text
    context = error.ctx if isinstance(error, click.UsageError) else None
    where = f"; see `{context.command_path} --help`" if context else ""
    return f"rillkeeper: {text.rstrip('.')}{where}"


@click.group(
    cls=Root,
    epilog=EXIT_CODES,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, message="rillkeeper %(version)s")
@click.option("--debug", is_flag=True, help="Show where in the code an error came from.")
@click.option("--no-color", is_flag=True, help="No colours; the same as NO_COLOR=1.")
@click.pass_context
def cli(ctx: click.Context, debug: bool, no_color: bool) -> None:
    """Water a plot at night from a pond, a 12 V pump and a battery.

    \b
    Examples:
      rillkeeper size                     the demonstration site, worked out
      rillkeeper week                     the demonstration week
      rillkeeper board                    a virtual board to talk to
      rillkeeper site new my-plot.toml    a site file to fill in
      rillkeeper site check my-plot.toml  all its mistakes at once
    """
    del debug  # Looked at by `Root.invoke`.
    if no_color or os.environ.get("NO_COLOR"):
        ctx.color = False


def main() -> None:
    """Entry point of the console script."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # A console may lack letters that a site has.
            stream.reconfigure(errors="backslashreplace")
    cli(prog_name="rillkeeper")
