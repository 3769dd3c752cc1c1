"""The small tests of a board, for whichever command judges its nights."""

from rillkeeper.commands.options import archive_path
from rillkeeper.data_folder import data_folder
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.small_tests.informed import Informed, inform
from rillkeeper.inquiry.why.small_tests.kept import KeptTests, Made
from rillkeeper.inquiry.why.small_tests.tried import FOLDER, Tried
from rillkeeper.runlog.store import Archive
from rillkeeper.screen import progress_of
from rillsim.site import Site


def tests_of(archive_file: str | None, board: str) -> tuple[Made, ...]:
    """The tests of a board that the archive keeps."""
    path = archive_path(archive_file)
    if not path.exists():
        return ()
    with Archive(path) as archive:
        return KeptTests(archive).of(board)


def informed(
    site: Site, settings: dict[str, int], diagnosis: Diagnosis, made: tuple[Made, ...]
) -> tuple[Diagnosis, Informed | None]:
    """A diagnosis with what the tests have told, saying how far the trials of them have come."""
    with progress_of("trying out which small test would tell", after_s=1.0) as told:
        tried = Tried(site, settings, data_folder() / FOLDER)
        return inform(tried, diagnosis, made, told)
