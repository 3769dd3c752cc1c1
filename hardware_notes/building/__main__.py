"""Writes the build guide and the wire list: ``python -m hardware_notes.building FOLDER``."""

import sys
from pathlib import Path

from hardware_notes.building.pages import PAGES

for name, page in PAGES.items():
    (Path(sys.argv[1]) / name).write_text(page(), encoding="utf-8")
