"""Pages that open from the desk: the morning page, `why`, and the proof's record.

They are those that `report --page`, `why --page` and `prove --show --page` write, of the board
in the archive that is asked for.
"""

import importlib.util
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from rillkeeper.board.proof.record_page import last_of
from rillkeeper.commands.diagnosis import kept_or_asked
from rillkeeper.commands.log_source import archive_lines, known_board, no_night_text
from rillkeeper.commands.options import with_learned
from rillkeeper.commands.small_tests import tests_of
from rillkeeper.commands.why import inquiry_of
from rillkeeper.errors import RillkeeperError
from rillkeeper.morning.coming import from_report
from rillkeeper.morning.report.report import report_of
from rillkeeper.runlog.boards import Known
from rillkeeper.runlog.lines import read_log
from rillkeeper.site.file import demo_site, load_site
from rillsim.site import Site

AHEAD = 7
"""Coming nights on the morning page, as `report` has it."""


def morning(archive: Path, board: str | None) -> str:
    """What the board did, night by night."""
    _need_pictures()
    from rillkeeper.pages.report import html_of  # Heavy: only where a page is asked for.

    known = known_board(str(archive), board)
    site = _site(known)
    lines = archive_lines(str(archive), known.board)
    tests = tests_of(str(archive), known.board)
    made = report_of(lines, site=site, tests=tests)
    if not made.nights:
        raise RillkeeperError(no_night_text(made.log, None))
    if site and not made.other_site:
        found = kept_or_asked(made.log, site, str(archive), known.board, tests)
        made = replace(made, found=found)
    return html_of(made, last_of(archive, known.board), from_report(made, AHEAD))


def why(archive: Path, board: str | None) -> str:
    """What is going wrong, and the evidence."""
    _need_pictures()
    from rillkeeper.pages.why import html_of

    known = known_board(str(archive), board)
    site = _site(known) or demo_site()
    log = read_log(archive_lines(str(archive), known.board))
    return html_of(inquiry_of(site, log, made=tests_of(str(archive), known.board)))


def proof(archive: Path, board: str | None) -> str:
    """What is proved of the board's protections."""
    from rillkeeper.pages.proof import html_of

    proofs = last_of(archive, known_board(str(archive), board).board)
    if not proofs:
        raise RillkeeperError("no proof of this board yet; make one: rillkeeper prove")
    return html_of(proofs)


PAGES: dict[str, Callable[[Path, str | None], str]] = {
    "morning": morning,
    "why": why,
    "proof": proof,
}


def _site(known: Known) -> Site | None:
    return (
        with_learned(load_site(known.site_file), known.learned_file) if known.site_file else None
    )


def _need_pictures() -> None:
    if importlib.util.find_spec("matplotlib") is None:
        raise RillkeeperError(
            "the page's pictures need matplotlib; run: pip install 'rillkeeper[page]'"
        )
