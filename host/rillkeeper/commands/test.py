"""`rillkeeper test`: one small test at the bank, and what it tells of the causes."""

import sys
from math import exp

import click

from rillkeeper import screen
from rillkeeper.board.link.hands import Desk
from rillkeeper.board.link.ports import choose, port_option
from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.at_terminal import read_value
from rillkeeper.board.proof.session import Session
from rillkeeper.commands.diagnosis import diagnosis_of
from rillkeeper.commands.options import archive_option, archive_path, with_learned
from rillkeeper.commands.prove import Line
from rillkeeper.commands.small_tests import informed, tests_of
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.inquiry.why.answer import percent
from rillkeeper.inquiry.why.rank import Ranking
from rillkeeper.inquiry.why.small_tests.bank import Bank, read_all
from rillkeeper.inquiry.why.small_tests.guide import Guide
from rillkeeper.inquiry.why.small_tests.informed import Informed, tap_is_safe, weighed
from rillkeeper.inquiry.why.small_tests.kept import Made, without_tests
from rillkeeper.inquiry.why.small_tests.table import (
    CAUTION,
    SHUT,
    STAND_CLEAR,
    TESTS,
    Ask,
    SmallTest,
    test_of,
)
from rillkeeper.inquiry.why.small_tests.words import next_text, readings_text
from rillkeeper.runlog.boards import Boards, Known
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillkeeper.runlog.store import Archive
from rillkeeper.site.file import demo_site, load_site
from rillkeeper.units import UnitError
from rillsim.site import Site

_UNITS = {"voltage": "V", "length": "m", "volume": "L", "time": "s"}
"""Of a number without one."""
_WIDTH = 78
_SHOWN_FROM = 0.02
UNREACHED = "The board could not be told to stop: hand switch off now."


@click.command()
@click.argument("name", metavar="TEST", required=False)
@port_option
@archive_option
@click.option("--list", "list_tests", is_flag=True, help="Show the tests; no board is needed.")
@click.option(
    "--site",
    "site_file",
    type=click.Path(exists=True, dir_okay=False),
    help="The site's file, where the archive does not know it.",
)
def test(
    name: str | None,
    port: str | None,
    archive_file: str | None,
    list_tests: bool,
    site_file: str | None,
) -> None:
    """Make one small TEST at the bank, to tell apart what the nights alone cannot.

    `rillkeeper why` names the test that is worth the walk. The board runs the pump and measures,
    the person turns a tap or holds a meter. All protections stay at work with the board's own
    limits, no set starts meanwhile, and the pump is stopped however the test ends. What came of
    it is kept: the next `why` counts with it.

    \b
    Examples:
      rillkeeper test --list
      rillkeeper test volts
      rillkeeper test tap --site my-plot.toml
    """
    if list_tests:
        _list()
        return
    if name is None:
        raise UsageMistake(f"which test? one of {', '.join(one.name for one in TESTS)}")
    chosen = test_of(name)
    given = load_site(site_file) if site_file else None
    if not sys.stdin.isatty():
        raise UsageMistake("a test needs a person at a terminal, to turn taps and hold meters")
    board, made, site = _at_the_bank(chosen, choose(port), archive_file, given)
    _say(chosen, made, board, archive_file, site)


class AtBank:
    """The person at a terminal."""

    def __init__(self, desk: Desk) -> None:
        self._hand = desk.hand
        self._watching = False

    def ready(self, text: str, hands: str) -> None:
        """Wait for Enter."""
        self._end_watch()
        click.echo(text)
        self._how(hands)
        while click.prompt("Press Enter when it is so", default="", show_default=False).strip():
            click.echo("only Enter goes on; Ctrl-C stops", err=True)

    def measure(self, ask: Ask) -> float:
        """A number with its unit, asked again until it can be one."""
        self._end_watch()
        self._how("--look")
        while True:
            text = click.prompt(ask.question).strip().replace(",", ".")
            bare = text.replace(".", "", 1).isdigit()
            try:
                value = read_value(
                    f"{text} {_UNITS[ask.dimension]}" if bare else text, ask.dimension
                )
            except UnitError as error:
                click.echo(f"{error}", err=True)
                continue
            if 0.0 < value <= ask.most:
                return value
            most = f"{ask.most * (1000 if ask.dimension == 'volume' else 1):g}"
            click.echo(
                f"{text}: must be over 0 and at most {most} {_UNITS[ask.dimension]}", err=True
            )

    def tell(self, text: str) -> None:
        """Say something."""
        self._end_watch()
        click.echo(text)

    def watch(self, now: Status, left_s: float) -> None:
        """A look, in place."""
        self._watching = True
        volts = "" if now.battery_mv is None else f", {now.battery_mv / 1000:.2f} V"
        pressure = "" if now.pressure_pa is None else f", {now.pressure_pa / 1000:.0f} kPa"
        line = f"{now.doing}{pressure}{volts}, {max(left_s, 0.0):.0f} s left"
        click.echo(f"\r  {line[:_WIDTH]:<{_WIDTH}}", nl=False, err=True)

    def _how(self, hands: str) -> None:
        if self._hand and hands:
            click.secho(f"Virtual board: {self._hand} {hands}", fg="cyan")

    def _end_watch(self) -> None:
        if self._watching:
            self._watching = False
            click.echo(err=True)


def _at_the_bank(
    chosen: SmallTest, port: str, archive_file: str | None, given: Site | None
) -> tuple[str, Made, Site]:
    """The board's number, what came of the test, and the site that it was made on."""
    line = Line(port)
    try:
        with Archive.renewed(archive_path(archive_file)) as archive:
            session = line.session(archive)
            site = given or _site_of(Boards(archive).of(session.who.board))
            try:
                _refuse(chosen, site)
            except RillkeeperError:
                session.end()
                raise
            click.secho(f"{chosen.title}, about {chosen.walk_min:.0f} min", bold=True)
            click.secho(f"Caution: {chosen.caution} {CAUTION}", fg="yellow")
            try:
                made = Guide(session, archive, AtBank(line.desk), chosen).make()
            except BaseException as error:
                _let_go(session, chosen, error)
                raise
            return session.who.board, made, site
    finally:
        line.close()


def _let_go(session: Session, chosen: SmallTest, error: BaseException) -> None:
    """The pump stands already, where the board can be told; the sets are on again."""
    try:
        session.end()
    except (RillkeeperError, KeyboardInterrupt):
        click.echo(UNREACHED, err=True)
        return
    if isinstance(error, (KeyboardInterrupt, click.Abort)):
        click.echo(f"\nThe pump stands; nothing is kept of this test. {chosen.after}", err=True)
    click.echo(STAND_CLEAR, err=True)


def _site_of(known: Known) -> Site:
    """The site that a board was set up for, as it was learned."""
    if known.site_file:
        return with_learned(load_site(known.site_file), known.learned_file)
    site = demo_site()
    click.echo(f"no site is known: held against the demonstration, {site.name}", err=True)
    return site


def _refuse(chosen: SmallTest, site: Site) -> None:
    """Raises RillkeeperError where this site's sensors or pump are not for this test."""
    if not chosen.fits(site.board):
        raise RillkeeperError(f"{chosen.name}: this site's board has not the sensors for it")
    if chosen.way != SHUT:
        return
    settings, shown = settings_of(site), Shown(site.units)
    top_pa = exp(read_all(Bank(site, settings), [chosen])["rise"])
    if not tap_is_safe(top_pa, settings):
        top, rating = (shown.text(one, "pressure") for one in (top_pa, settings["rating_pa"]))
        raise RillkeeperError(
            f"against the shut tap this pump would come to {top} before the board stops it, too "
            f"near to its {rating}; take another test"
        )


def _say(chosen: SmallTest, made: Made, board: str, archive_file: str | None, site: Site) -> None:
    """What was read, and what it does to the causes."""
    with Archive(archive_path(archive_file)) as archive:
        lines = archive.lines(board)
    settings, shown = settings_of(site), Shown(site.units)
    sound = read_all(Bank(site, settings), [chosen])
    told = readings_text(chosen, made.readings, sound, shown)
    click.echo(f"{told[:1].upper()}{told[1:]}.")
    tests = tests_of(archive_file, board)
    evidence = nights_of(without_tests(read_log(lines), tests), site.board).acted
    if not evidence.nights:
        click.echo("No night is in the archive to weigh it with: it is kept for `rillkeeper why`.")
        return
    diagnosis, small = informed(site, settings, diagnosis_of(evidence, site, settings), tests)
    if small is None or made.test not in {one.test for one in small.made}:
        click.echo("The nights show nothing that it could part: it is kept.")
        return
    before = diagnosis_before(small)
    click.echo(f"Before this test: {ranking_text(before)}.")
    click.secho(f"After it: {ranking_text(diagnosis.ranking)}.", bold=True)
    if diagnosis.named and not diagnosis.alike:
        click.echo(diagnosis.findings[0].cause.look)
    elif small.best:
        click.echo(next_text(small.best))


def diagnosis_before(small: Informed) -> Ranking:
    """The causes as they stood before the last test."""
    return weighed(small.nights, small.found, small.made[:-1])


def ranking_text(ranking: Ranking) -> str:
    """The likely causes with their probabilities."""
    parts = [
        f"{one.cause.name} {percent(one.probability)}"
        for one in ranking.findings
        if one.probability >= _SHOWN_FROM
    ]
    if ranking.nothing >= _SHOWN_FROM:
        parts.append(f"nothing wrong {percent(ranking.nothing)}")
    return ", ".join(parts)


def _list() -> None:
    table = screen.open_table("test", "what", "about", "caution")
    for one in TESTS:
        table.add_row(one.name, one.title, f"{one.walk_min:.0f} min", one.caution)
    screen.show(table, width=140)
