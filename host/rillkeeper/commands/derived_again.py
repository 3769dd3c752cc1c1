"""Would a board's settings be derived differently today? Asked when it has been flashed.

Firmware and desktop tool come together: where the newer one derives other limits from the same
site file, a board that keeps its settings does not get them by itself.
"""

from pathlib import Path

from rillkeeper.commands.options import archive_path
from rillkeeper.design.limits.derive import check_ends, settings_of
from rillkeeper.design.standing import check_standing
from rillkeeper.errors import RillkeeperError
from rillkeeper.runlog.boards import Boards
from rillkeeper.runlog.store import Archive
from rillkeeper.site.file import load_site

_SHOWN = 4
_UNKNOWN = (
    "its settings stay as they were; where this version may derive others, look at them, and "
    "write them: rillkeeper flash --settings SITE.toml"
)


def derived_today(site_file: str) -> dict[str, int]:
    """The settings that a site file gives. Raises RillkeeperError where it gives no safe ones."""
    site = load_site(site_file)
    values = settings_of(site)
    check_standing(site)
    check_ends(site, values)
    return values


def sentence_on(board: str, now: dict[str, int]) -> str:
    """What to do about the settings that a board has, or nothing where they are today's.

    The site file is the one that was last given for this board.
    """
    site_file = _site_file_of(board)
    if site_file is None:
        return _UNKNOWN
    try:
        wanted = derived_today(site_file)
    except RillkeeperError as error:
        return f"its settings stay as they were, and none can be derived today: {error}"
    others = [
        f"{key} {now.get(key, 'not set')} -> {value}"
        for key, value in wanted.items()
        if now.get(key) != value
    ]
    if not others:
        return ""
    more = f" and {len(others) - _SHOWN} more" if len(others) > _SHOWN else ""
    return (
        f"its settings stay as they were; {Path(site_file).name} gives others today "
        f"({', '.join(others[:_SHOWN])}{more}): look at them, and write them: "
        f"rillkeeper flash --settings {site_file}"
    )


def _site_file_of(board: str) -> str | None:
    path = archive_path(None)
    if not path.exists():
        return None
    try:
        with Archive(path) as archive:
            return Boards(archive).of(board).site_file
    except RillkeeperError:
        return None
