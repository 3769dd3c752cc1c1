"""Draws every picture: ``python -m hardware_notes.drawings FOLDER``."""

import sys
from pathlib import Path

from hardware_notes.drawings.pictures import PICTURES

for name, draw in PICTURES.items():
    (Path(sys.argv[1]) / name).write_bytes(draw())
