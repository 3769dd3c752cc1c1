"""`rillkeeper board`: a virtual board, behind a pseudo-terminal that every program can open."""

import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

import click

from rillkeeper.board.flash.firmware import default_folder
from rillkeeper.board.link.ports import announced
from rillkeeper.commands.diagnosis import remember_site
from rillkeeper.commands.fault_option import EXAMPLE, SHAPE, parse_fault
from rillkeeper.commands.options import seed_option
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.plain_words import PlainWords
from rillkeeper.site.file import DEMO, demo_site, load_site
from rillkeeper.units import UnitError, parse_clock
from rillsim.boards.virtualboard import VIRTUAL, VirtualBoard, VirtualBoardStopped
from rillsim.garden.weather import DAY_S
from rillsim.replay import NOON_S, TICKS_PER_S, replay
from rillsim.site import FaultSpec, Site

NIGHTS_MAX = 60
SPEED_MAX = 3600.0
_MISSING = (
    "the MicroPython interpreter is missing; run: pip install 'rillkeeper[board]' "
    "(Linux and macOS)"
)


@click.command()
@click.argument("site", required=False, type=click.Path(exists=True, dir_okay=False))
@click.option(
    "--speed",
    type=click.FloatRange(0.1, SPEED_MAX),
    default=60.0,
    show_default=True,
    help="Simulated seconds in one second.",
)
@click.option("--realtime", is_flag=True, help="The same as --speed 1.")
@click.option("--at", "start", metavar="HH:MM", help="Start at this time of the first night.")
@click.option(
    "--nights",
    "count",
    type=click.IntRange(1, NIGHTS_MAX),
    default=NIGHTS_MAX,
    show_default=True,
    help="End after so many nights.",
)
@seed_option("Of weather and noise, as in `week`.")
@click.option(
    "--fault", "faults", multiple=True, metavar=SHAPE, help=f"A fault more, as {EXAMPLE}."
)
@click.option("--unset", is_flag=True, help="A board that was never given settings.")
@click.option(
    "--keep",
    type=click.Path(file_okay=False),
    help="Folder that keeps its flash and its number; there, it goes on as the same board.",
)
def board(
    site: str | None,
    speed: float,
    realtime: bool,
    start: str | None,
    count: int,
    seed: int,
    faults: tuple[str, ...],
    unset: bool,
    keep: str | None,
) -> None:
    """Run the whole firmware of a board, in MicroPython, in front of the simulated plant.

    Its serial line is a pseudo-terminal, whose path is printed: the other commands find it by
    themselves, and any terminal program can open it; Ctrl-C typed there gives MicroPython's
    prompt. Its site can be handled, by keys in this window (? lists them) and by `rillkeeper
    hand`. Each start is a new board with new flash, at noon, unless --keep names a folder.
    Without SITE it waters the demonstration site. Ctrl-C ends it.

    \b
    Examples:
      rillkeeper board --at 21:59 --speed 10
      rillkeeper board my-plot.toml --realtime --fault outlet_shut@1+5min
    """
    micropython, firmware = _interpreter(), default_folder()
    ahead_ticks = _ticks_to(start) if start else 0
    added = tuple(parse_fault(text) for text in faults)
    found = load_site(site) if site else demo_site()
    late = [fault for fault in added if not 1 <= fault.night <= count]
    if late:
        wrong = f'fault "{late[0].name}" is for night {late[0].night}'
        raise UsageMistake(f"{wrong}; there are nights 1 to {count} (see --nights)")
    settings = settings_of(found)
    site_file = site or str(DEMO)
    for number in (signal.SIGINT, signal.SIGTERM):  # The first is deaf in a script's background.
        signal.signal(number, signal.default_int_handler)
    if start:
        click.echo(f"on the way to {start} of the first night", err=True)
    with tempfile.TemporaryDirectory(prefix="rillkeeper-") as folder:
        try:
            _run(
                (micropython, firmware, _kept(keep) if keep else Path(folder)),
                (found, settings, added),
                given=None if unset else settings,
                speed=1.0 if realtime else speed,
                ahead_ticks=ahead_ticks,
                nights=count,
                seed=seed,
                site_file=site_file,
            )
        except KeyboardInterrupt:
            click.echo("the board is switched off", err=True)


def _run(
    places: tuple[Path, Path, Path],
    plant: tuple[Site, dict[str, int], tuple[FaultSpec, ...]],
    *,
    given: dict[str, int] | None,
    speed: float,
    ahead_ticks: int,
    nights: int,
    seed: int,
    site_file: str,
) -> None:
    # These need pseudo-terminals.
    from rillkeeper.board.virtual.hand_line import HandLine
    from rillkeeper.board.virtual.paced_board import PacedBoard
    from rillkeeper.board.virtual.pseudo_terminal import Terminal
    from rillkeeper.board.virtual.site_hands import SiteHands
    from rillkeeper.board.virtual.window_keys import HELP, WindowKeys

    site, settings, faults = plant
    number = _number(places[2])
    remember_site(None, number.hex(), site, site_file, None)
    try:
        with (
            HandLine() as line,
            WindowKeys(_say) as keys,
            Terminal() as terminal,
            VirtualBoard(
                *places,
                given,
                clock_chip=site.board.clock_backed,
                serial=terminal.board_end,
                console=terminal,
                unique_id=number,
            ) as virtual,
            ExitStack() as until_the_end,
        ):

            def announce() -> None:
                """Say where it is, now that it answers there."""
                until_the_end.enter_context(announced(terminal.path, str(line.path)))
                click.echo(terminal.path)
                sys.stdout.flush()
                _say(
                    f"{site.name}: a virtual board at {speed:g} times the speed of a clock; "
                    "Ctrl-C switches it off"
                )
                _say(HELP if keys.there else "hands on its site: rillkeeper hand --list")

            hands = SiteHands(
                site, speed, sources=(line, keys), attached=lambda: terminal.attached, tell=_say
            )
            paced = PacedBoard(
                virtual, terminal, speed, ahead_ticks, ready=announce, wrote=_teller(site)
            )
            replay(
                site, settings, nights=nights, seed=seed, faults=faults, board=paced, hands=hands
            )
    except VirtualBoardStopped as stopped:
        raise RillkeeperError(f"the board has stopped: {stopped}".rstrip("; ")) from None
    click.echo(f"{nights} nights are over", err=True)


def _teller(site: Site) -> Callable[[list[str]], None]:
    """Tells a line an event in this window; minutes of pumping are none."""
    words = PlainWords(Shown(site.units), Fitted.of(site.board))

    def tell(lines: list[str]) -> None:
        for sentence in words.take([line for line in lines if " minute " not in line]):
            _say(sentence)

    return tell


def _say(sentence: str) -> None:
    """A line in the board's own window."""
    click.echo(sentence, err=True)


def _kept(name: str) -> Path:
    """The folder of a board that is kept."""
    folder = Path(name)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RillkeeperError(f"--keep {name}: {error.strerror}") from None
    return folder


def _number(folder: Path) -> bytes:
    """The board's own number: drawn with its flash, and kept with it."""
    path = folder / "number.txt"
    try:
        if not path.exists():
            path.write_text((VIRTUAL + os.urandom(4)).hex() + "\n", encoding="ascii")
        return bytes.fromhex(path.read_text(encoding="ascii"))
    except (OSError, ValueError) as error:
        raise RillkeeperError(f"{path}: not a board's number: {error}") from None


def _interpreter() -> Path:
    """The interpreter, first beside this Python, then on PATH."""
    if os.name == "nt":
        raise RillkeeperError(
            "a virtual board needs pseudo-terminals: Linux or macOS (on Windows, run it in WSL)"
        )
    beside = Path(sys.executable).parent / "micropython"
    found = str(beside) if beside.exists() else shutil.which("micropython")
    if found is None:
        raise RillkeeperError(_MISSING)
    return Path(found)


def _ticks_to(text: str) -> int:
    """Ticks from noon to a time of the first night."""
    try:
        second = parse_clock(text)
    except UnitError:
        raise UsageMistake(f'--at "{text}": not a time of day; example: --at 21:59') from None
    return (second - NOON_S) % DAY_S * TICKS_PER_S
