"""Where a user's own data lie: the archive of run logs, and which virtual boards are running."""

import os
import sys
from pathlib import Path

NAME = "rillkeeper"


def data_folder() -> Path:
    """The folder for a user's data, by the custom of the system (XDG Base Directory on Linux)."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / NAME
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / NAME
    given = os.environ.get("XDG_DATA_HOME", "")
    base = Path(given) if given.startswith("/") else home / ".local" / "share"
    return base / NAME
