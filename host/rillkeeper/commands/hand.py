"""`rillkeeper hand`: a hand on the site of a virtual board."""

from time import sleep
from typing import Any

import click

from rillkeeper.board.link.hands import ask, with_hands
from rillkeeper.board.link.ports import VARIABLE, Candidate
from rillkeeper.errors import NoBoard, UsageMistake
from rillkeeper.screen import json_text, open_table, show

JSON_SCHEMA = 1
BETWEEN_S = 0.5
"""From one thing to the next, by the site's own clock."""


@click.command()
@click.argument("words", nargs=-1, metavar="[WHAT HOW]...")
@click.option("--list", "list_all", is_flag=True, help="What there is, how it is, how it can be.")
@click.option("--look", is_flag=True, help="What meter, gauge, eye and ear tell there.")
@click.option("--json", "as_json", is_flag=True, help="With --list: one JSON document on stdout.")
@click.option(
    "--port",
    envvar=VARIABLE,
    show_envvar=True,
    metavar="PORT",
    help="The virtual board's port; the only one is found by itself.",
)
def hand(
    words: tuple[str, ...], list_all: bool, look: bool, as_json: bool, port: str | None
) -> None:
    """Put a hand on the site of a virtual board that runs in another window.

    Taps, plugs, the hand switch, the battery, the strainer, the button and the rain contact; one
    thing after another where more are named ("wait 10" waits ten seconds of the site's time). A
    look tells what a person there would read, see and hear, so that `rillkeeper prove` can be
    rehearsed at a desk.

    \b
    Examples:
      rillkeeper hand tap shut
      rillkeeper hand tap 60%
      rillkeeper hand switch off pump-plug out switch on
      rillkeeper hand --look
    """
    if as_json and not list_all:
        raise UsageMistake("--json goes with --list")
    if len(words) % 2:
        raise UsageMistake(f'how is "{words[-1]}" to be? see: rillkeeper hand --list')
    if not (words or list_all or look):
        raise UsageMistake("say what is to be done, as in: rillkeeper hand tap shut; or --list")
    line = _choose(port).hands
    _do(line, list(zip(words[::2], words[1::2], strict=True)))
    if list_all:
        _show_list(ask(line, list=True)["list"], as_json)
    if look:
        for sentence in ask(line, look=True)["look"]:
            click.echo(sentence)


def _do(line: str, pairs: list[tuple[str, str]]) -> None:
    """One thing after the other, with the time in between that hands take at the site."""
    wait_s = 0.0
    for what, how in pairs:
        if what == "wait":
            if not how.isdigit():
                raise UsageMistake(f'wait "{how}": how many seconds? as in: wait 10')
            wait_s += int(how)
            continue
        if wait_s:
            sleep(wait_s / ask(line)["speed"])
        click.echo(ask(line, do=(what, how))["said"])
        wait_s = BETWEEN_S


def _choose(port: str | None) -> Candidate:
    """The virtual board that is meant. Raises NoBoard."""
    found = with_hands()
    if port:
        for one in found:
            if one.name == port:
                return one
        raise NoBoard(f"{port}: no virtual board runs there; a real one is handled by real hands")
    if not found:
        raise NoBoard("no virtual board runs; start one in another window: rillkeeper board")
    if len(found) > 1:
        listed = "".join(f"\n  {one.name}" for one in found)
        raise NoBoard(f"more than one virtual board runs; choose one with --port:{listed}")
    return found[0]


def _show_list(rows: list[dict[str, Any]], as_json: bool) -> None:
    if as_json:
        click.echo(json_text({"schema": JSON_SCHEMA, "hands": rows}))
        return
    table = open_table("what", "is now", "can be", "key")
    table.add_column("in words", overflow="fold")
    for row in rows:
        can_be = ", ".join([*row["can_be"], *(f"or say {also}" for also in row["also"])])
        table.add_row(row["hand"], row["now"], can_be, " ".join(row["keys"]), row["thing"])
    show(table)
