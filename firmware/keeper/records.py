"""Records of the run log: what is written, and the line of text that shows it.

A record is a fixed row of whole numbers, so that writing one allocates nothing. ``KINDS`` is
the one place that says what each number means; the text lines, and the desktop tool that
reads them, are made from it.

``start`` is written before the relay closes: ``rest_mv`` and ``rest_pa`` are means of the check
(``rest_pa`` is 0 without a transducer). ``learned`` holds the voltage of one moment under load,
and the pressure smoothed up to it. A ``minute`` is the mean of sixty readings, one a second.
``decay`` says by itself how long after the stop it was written.
"""

VERSION = 1
FIELDS_MAX = 6

# fmt: off
KINDS = (
    # kind      its numbers, with their units
    ("boot",    ("cause", "settings_ok", "state", "left_mah")),
    ("set",     ("set", "unit", "amount", "runs", "target")),
    ("start",   ("set", "run", "rest_mv", "left_mah", "frost_dc", "rest_pa")),
    ("primed",  ("prime_ms", "pressure_pa", "battery_mv")),
    ("learned", ("resistance_mohm", "rest_mv", "loaded_mv", "current_ma", "pressure_pa")),
    ("normal",  ("pressure_pa", "base_pa", "drift_permille")),
    ("minute",  ("pressure_pa", "battery_mv", "current_ma", "flow_ml_min", "left_mah")),
    ("stop",    ("cause", "on_s", "pressure_pa", "battery_mv", "used_mah", "given_ml")),
    ("decay",   ("after_ms", "pressure_pa", "battery_mv")),
    ("trip",    ("rule", "value", "limit", "held_ms", "action", "tries")),
    ("warn",    ("rule", "value", "limit")),
    ("skip",    ("set", "cause", "value")),
    ("short",   ("set", "planned_s", "given_s")),
    ("given",   ("set", "cause", "run_s", "given_ml", "depth_um")),
    ("night",   ("run_s", "given_ml", "used_mah", "left_mah", "nights_tenths", "rest_mv")),
    ("battery", ("rest_mv", "left_mah")),
    ("clock",   ("verdict", "off_s")),
    ("rain",    ("closed",)),
    ("hand",    ("command", "value")),
)
# fmt: on
(
    BOOT,
    SET,
    START,
    PRIMED,
    LEARNED,
    NORMAL,
    MINUTE,
    STOP,
    DECAY,
    TRIP,
    WARN,
    SKIP,
    SHORT,
    GIVEN,
    NIGHT,
    BATTERY,
    CLOCK,
    RAIN,
    HAND,
) = range(len(KINDS))

# Why the board started.
POWER_UP, POWER_BACK, POWER_BROKE_RUN = range(3)

# Why a run stopped, a set ended or was skipped. A cause of CAUSE_RULE and above is a rule's.
CAUSES = (
    ("complete", "by hand", "rain", "on hold", "missed", "clock", "battery", "tripped")
    # What came later stands behind: an older tool reads the numbers before.
    + ("noon", "hand run")
)
(
    COMPLETE,
    BY_HAND,
    RAINED,
    ON_HOLD,
    MISSED,
    NO_CLOCK,
    NO_BATTERY,
    TRIPPED,
    AT_NOON,
    HAND_RUN,
) = range(len(CAUSES))
CAUSE_RULE = 16

# The places of a record's numbers.
SEQ, DAY, SECOND, TRUST, KIND, FIRST = range(6)
_WIDTH = FIRST + FIELDS_MAX


class Journal:
    """A ring of records waiting to be written, oldest first.

    The device takes them as fast as it can; when it cannot, the oldest waiting record gives
    way and ``dropped`` counts it, so that a gap in the sequence is explained.
    """

    def __init__(self, capacity: int) -> None:
        self._numbers = [0] * (capacity * _WIDTH)
        """Those of a record stand together: a list for each would take half as much again."""
        self._taken = [0] * _WIDTH
        self._capacity = capacity
        self._first = 0
        self.waiting = 0
        self.dropped = 0
        self.seq = 0
        self.day = 0
        self.second = 0
        self.trust = 0

    def add(self, kind, a=0, b=0, c=0, d=0, e=0, f=0) -> None:
        """Write one record, stamped with the time of this tick."""
        if self.waiting == self._capacity:
            self._first = (self._first + 1) % self._capacity
            self.waiting -= 1
            self.dropped += 1
        numbers = self._numbers
        place = (self._first + self.waiting) % self._capacity * _WIDTH
        self.waiting += 1
        numbers[place] = self.seq
        numbers[place + DAY] = self.day
        numbers[place + SECOND] = self.second
        numbers[place + TRUST] = self.trust
        numbers[place + KIND] = kind
        numbers[place + 5] = a
        numbers[place + 6] = b
        numbers[place + 7] = c
        numbers[place + 8] = d
        numbers[place + 9] = e
        numbers[place + 10] = f
        self.seq = (self.seq + 1) & 0x3FFFFFFF

    def take(self) -> list:
        """The numbers of the oldest waiting record; the next call overwrites them."""
        taken = self._taken
        place = self._first * _WIDTH
        for column in range(_WIDTH):
            taken[column] = self._numbers[place + column]
        self._first = (self._first + 1) % self._capacity
        self.waiting -= 1
        return taken
