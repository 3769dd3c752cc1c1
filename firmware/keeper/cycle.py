"""The states of the board, and what moves it from one to another: one table.

Every pair of state and event is listed. A dot means that the state stays as it is; there is
no default, and a test holds the table to that. A board without valid settings is made in the
state "unset" and never leaves it: new settings make a new Keeper.

A run by hand that ends as it should, by a person, or by what concerns it alone is over by "set
ended"; where it began in a night that was stopped, by "stopped": the night is then as it was
before (hand.py). A planned set that a person stops is over by "stopped", and so is the night.
"""

STATES = (
    "unset",  # no valid settings: the pump must not run
    "idle",  # waiting for a set or for the button
    "check",  # pump off, the readings are judged before a start
    "prime",  # pump on, no pressure yet
    "run",  # pump on, pressure made
    "soak",  # pause between two runs of a set
    "rest",  # pump stopped by a trip, a retry follows
    "done",  # stopped for the night
    "flat",  # the battery must be charged
    "lockout",  # a person must look first
)
UNSET, IDLE, CHECK, PRIME, RUN, SOAK, REST, DONE, FLAT, LOCKOUT = range(len(STATES))

# fmt: off
# When this happens    unset  idle       check      prime      run        soak       rest       done       flat       lockout
TABLE = (
    ("set due",        (".",  "check",   ".",       ".",       ".",       ".",       ".",       ".",       ".",       ".")),
    ("start by hand",  (".",  "check",   ".",       ".",       ".",       ".",       ".",       "check",   ".",       ".")),
    ("checks passed",  (".",  ".",       "prime",   ".",       ".",       ".",       ".",       ".",       ".",       ".")),
    ("checks refused", (".",  ".",       "done",    ".",       ".",       ".",       ".",       ".",       ".",       ".")),
    ("primed",         (".",  ".",       ".",       "run",     ".",       ".",       ".",       ".",       ".",       ".")),
    ("run ended",      (".",  ".",       ".",       "soak",    "soak",    ".",       ".",       ".",       ".",       ".")),
    ("set ended",      (".",  ".",       "idle",    "idle",    "idle",    "idle",    "idle",    ".",       ".",       ".")),
    ("stopped",        (".",  ".",       "done",    "done",    "done",    "done",    "done",    ".",       ".",       ".")),
    ("trip, retry",    (".",  ".",       "rest",    "rest",    "rest",    ".",       ".",       ".",       ".",       ".")),
    ("trip, night",    (".",  "done",    "done",    "done",    "done",    "done",    "done",    ".",       ".",       ".")),
    ("trip, flat",     (".",  "flat",    "flat",    "flat",    "flat",    "flat",    "flat",    "flat",    ".",       ".")),
    ("trip, lockout",  (".",  "lockout", "lockout", "lockout", "lockout", "lockout", "lockout", "lockout", "lockout", ".")),
    ("soaked",         (".",  ".",       ".",       ".",       ".",       "check",   ".",       ".",       ".",       ".")),
    ("rested",         (".",  ".",       ".",       ".",       ".",       ".",       "check",   ".",       ".",       ".")),
    ("noon",           (".",  ".",       ".",       ".",       ".",       "idle",    "idle",    "idle",    ".",       ".")),
    ("charged",        (".",  ".",       ".",       ".",       ".",       ".",       ".",       ".",       "idle",    ".")),
    ("cleared",        (".",  ".",       ".",       ".",       ".",       ".",       ".",       "idle",    "idle",    "idle")),
)
# fmt: on
EVENTS = tuple([row[0] for row in TABLE])
(
    SET_DUE,
    START_BY_HAND,
    CHECKS_PASSED,
    CHECKS_REFUSED,
    PRIMED,
    RUN_ENDED,
    SET_ENDED,
    STOPPED,
    TRIP_RETRY,
    TRIP_NIGHT,
    TRIP_FLAT,
    TRIP_LOCKOUT,
    SOAKED,
    RESTED,
    NOON,
    CHARGED,
    CLEARED,
) = range(len(EVENTS))


def _numbers(cells: tuple) -> tuple:
    return tuple(
        [state if cell == "." else STATES.index(cell) for state, cell in enumerate(cells)]
    )


NEXT = tuple([_numbers(row[1]) for row in TABLE])
"""NEXT[event][state] is the state that follows."""
