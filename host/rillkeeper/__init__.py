"""Desktop side of rillkeeper: site files, sizing, replay and reports."""

import os

__version__ = "0.1.0"

# The matrices of `why` and `learn` have a few dozen rows: threads cost three times what they save.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
