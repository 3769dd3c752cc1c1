"""Waiting for something that another process or thread does: for the event, not for a time."""

import time
from collections.abc import Callable

CEILING_S = 180.0
"""Far longer than anything takes on a busy machine: only what hangs comes up to it."""
_LOOK_S = 0.02


def until(what: Callable[[], object], shown: Callable[[], object] = lambda: "") -> None:
    """Wait until something is so; ``shown`` says what there was instead where it never is."""
    begun_s = time.monotonic()
    while not what():
        assert time.monotonic() - begun_s < CEILING_S, f"it never came; {shown()}"
        time.sleep(_LOOK_S)
