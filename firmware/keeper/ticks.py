"""Milliseconds that wrap, as the boards count them.

A board's millisecond counter has 30 bits and starts again from zero every 12.4 days. The
control package never compares two counter values; it asks how long ago the earlier one was.
"""


def const(number: int) -> int:
    """The number. MicroPython's compiler knows the name, and writes the number itself in its
    place: a module's own constant, ``_NAME = const(5)``, takes no room and no time on a board.
    """
    return number


PERIOD_MS = 1 << 30
MASK = PERIOD_MS - 1


def elapsed_ms(now_ms: int, earlier_ms: int) -> int:
    """How long after ``earlier_ms`` is ``now_ms``, in 0 .. PERIOD_MS - 1.

    The subtraction stays inside a 31-bit small int for every pair of counter values. A
    counter that ran backwards shows as a very long time, and so is treated as a late tick.
    """
    return (now_ms - earlier_ms) & MASK
