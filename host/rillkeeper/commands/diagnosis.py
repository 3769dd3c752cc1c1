"""The one diagnosis, for whichever command shows it: asked of `why`, and kept beside the log."""

import hashlib
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import suppress
from pathlib import Path

from rillkeeper.commands.options import archive_path
from rillkeeper.commands.small_tests import informed
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import day_text
from rillkeeper.errors import NoSafeLimit, RillkeeperError
from rillkeeper.inquiry.why.cache import key_of, signatures_of
from rillkeeper.inquiry.why.diagnosis import Diagnosis, diagnose
from rillkeeper.inquiry.why.found import Found, found_of
from rillkeeper.inquiry.why.signatures import Signatures
from rillkeeper.inquiry.why.small_tests.kept import Made, without_tests
from rillkeeper.runlog.boards import Boards, Finding
from rillkeeper.runlog.lines import RunLog
from rillkeeper.runlog.nights import NightLog, nights_of
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import progress_of
from rillsim.site import Site

_TRIALS = "trying out what may go wrong on this site (the first time only)"
_LOOK_S = 0.2


class Beforehand:
    """The trials of a site, begun while something else is still to be done; a context manager."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._share = 0.0
        self._pool = ThreadPoolExecutor(1)
        self._found: Future[Signatures] | None = None

    def __enter__(self) -> "Beforehand":
        with suppress(NoSafeLimit):
            settings = settings_of(self._site)
            self._found = self._pool.submit(signatures_of, self._site, settings, self._tell)
        return self

    def __exit__(self, *_: object) -> None:
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _tell(self, share: float) -> None:
        self._share = share

    def wait(self) -> None:
        """Until they are on the disk, saying how far they have come."""
        with progress_of(_TRIALS, after_s=1.0) as told:
            while self._found is not None and not self._found.done():
                told(self._share)
                wait((self._found,), timeout=_LOOK_S)


def diagnosis_of(evidence: NightLog, site: Site, settings: dict[str, int]) -> Diagnosis:
    """Hold nights against the model of a site, and say how far that has come."""
    with progress_of(_TRIALS) as told:
        signatures = signatures_of(site, settings, told)
    with progress_of("holding the nights against it", after_s=1.0) as told:
        return diagnose(evidence, site, settings, signatures, progress=told)


def ask_why(
    log: RunLog, site: Site, *, complete: bool = False, made: tuple[Made, ...] = ()
) -> Found | None:
    """What `why` says of a log; None where it has no night, or the site no safe limits.

    ``complete``: the log is a replay's, so that a run without an end has lost its power.
    ``made``: the small tests of the board.
    """
    log = without_tests(log, made)
    evidence = nights_of(log, site.board, complete=complete).acted
    if not evidence.nights:
        return None
    try:
        settings = settings_of(site)
    except NoSafeLimit:
        return None
    diagnosis = diagnosis_of(evidence, site, settings)
    if made:
        diagnosis, _ = informed(site, settings, diagnosis, made)
    return found_of(diagnosis, site, settings)


def kept_or_asked(
    log: RunLog, site: Site, archive_file: str | None, board: str, made: tuple[Made, ...]
) -> Found | None:
    """The same for a board of the archive: asked again only when log, site or small tests have
    changed."""
    mark = _mark(log, site, made)
    with Archive(archive_path(archive_file)) as archive:
        kept = Boards(archive).finding(board)
    if kept and kept.mark == mark:
        with suppress(ValueError, KeyError, TypeError):
            return Found.of_text(kept.found)
    found = ask_why(log, site, made=made)
    if found and log.entries:
        until = day_text(max(entry.night for entry in log.entries))
        with Archive(archive_path(archive_file)) as archive:
            Boards(archive).keep(board, Finding(mark, until, found.text()))
    return found


def last_found(archive_file: str | None, board: str) -> tuple[Found, str] | None:
    """The last diagnosis of a board and the night up to which it goes, as it was kept."""
    path = archive_path(archive_file)
    if not path.exists():
        return None
    try:
        with Archive(path) as archive:
            kept = Boards(archive).finding(board)
        return (Found.of_text(kept.found), kept.until) if kept else None
    except (RillkeeperError, ValueError, KeyError, TypeError):
        return None


def remember_site(
    archive_file: str | None, board: str, site: Site, site_file: str, learned: str | None
) -> None:
    """A site file was given for a board: from now on that is its site, and gives it its name."""
    # An archive that is damaged or held does not keep anybody from their work.
    with suppress(RillkeeperError), Archive(archive_path(archive_file)) as archive:
        Boards(archive).set_up(
            board,
            site.name,
            str(Path(site_file).resolve()),
            str(Path(learned).resolve()) if learned else "",
        )


def _mark(log: RunLog, site: Site, made: tuple[Made, ...] = ()) -> str:
    """Of everything that a diagnosis depends on."""
    try:
        key = key_of(site, settings_of(site))
    except NoSafeLimit:
        key = ""
    rows = [(entry.seq, entry.day, entry.second, entry.kind) for entry in log.entries]
    tests = "".join(f" {one.made} {one.test}" for one in made)
    return hashlib.sha256(f"{key} {site.units} {rows}{tests}".encode()).hexdigest()[:24]
