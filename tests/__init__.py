"""Tests, and the figures that `make bench`, `make twin` and `make sizes` print."""

import sys
from pathlib import Path

# The board's own packages are never installed: what runs as a module finds them here.
sys.path.append(str(Path(__file__).parents[1] / "firmware"))
