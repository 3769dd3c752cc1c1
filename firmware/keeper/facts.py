"""What the board knows from one run to the next, one row each, and what ends it: one table.

A row reads aloud: "tries, one for each rule: kept over power loss, kept over new settings, ended
by noon and by a person; begins at 0". ``memory.py`` saves what outlives power, by name;
``Facts.take_over`` hands on what outlives new settings; ``Facts.end`` is noon, another battery, a
person who clears, a clock that is set, or a line that is new. What lasts no longer than a state
or a run (holds, sums of a minute, what the last tick read) is no fact, and stays where it is used.
The state has a table of its own, ``cycle.py``; memory.py says which states outlive power.

"each" is what there is one number for. "start" is the number it begins with, or the setting it
begins as, which it is never more than. What is "shown" the answer to "status" has in its line of
facts; the charge left stands there among the readings. "what it is" is for the reader of the
table and for the notes; the board does without.
"""

from .checked import SETS
from .rules import RULES

EVENTS = ("noon", "battery", "person", "clock", "line")
"""Another night begins; a battery is put on, or charged in its place; a person says "I have
looked"; the clock is set; nozzle, hose or lift are others, by the settings or by a person."""
NOON, BATTERY, PERSON, CLOCK, LINE = range(len(EVENTS))

GAP_MS_MAX = 1 << 28
"""A longer time (three days) counts as this one: sums stay in 31 bits."""
HOUR_MS = 3600000
CLOCK_NOT_SET = 1
NEVER = -1
UNSEEN_MV = -32768
"""No rest voltage is so far beside its charge: none was seen yet."""

# fmt: off
FACTS: tuple = (
    # name               each     power   settings  ended by          start           shown     unit         what it is
    ("night",            "",      "kept", "kept",   "",               NEVER,          "",       "day"),      # the night that is being watered, called by the day on which it began
    ("told_night",       "",      "kept", "kept",   "",               NEVER,          "",       "day"),      # the last night that the log has a record of
    ("hold_until_night", "",      "kept", "kept",   "",               NEVER,          "status", "day"),      # before this night a person wants no sets
    ("held_off_ms",      "",      "kept", "kept",   "",               0,              "status", "ms"),       # for so long no set starts: a proof is going on
    ("stop_cause",       "",      "kept", "kept",   "",               NEVER,          "",       "cause"),     # why a set, a run by hand or the board last stopped
    ("stop_set",         "",      "kept", "kept",   "",               NEVER,          "",       "set"),       # which set that was; 0: a run by hand
    ("stop_day",         "",      "kept", "kept",   "",               NEVER,          "",       "day"),       # when that was; -1: by no clock that was to be believed
    ("stop_second",      "",      "kept", "kept",   "",               NEVER,          "",       "s"),         # the second of that day
    ("night_over",       "",      "lost", "lost",   "noon person",    0,              "",       "0/1"),       # the run by hand that goes on began in a night that was stopped
    ("done_night",       "set",   "kept", "kept",   "",               NEVER,          "",       "day"),      # the last night in which the set was over
    ("begun_night",      "set",   "kept", "kept",   "",               NEVER,          "",       "day"),      # the last night in which the set was taken up
    ("given_s",          "set",   "kept", "kept",   "",               0,              "",       "s"),        # given of the set since it was taken up
    ("given_ml",         "set",   "kept", "kept",   "",               0,              "",       "ml"),       # the same as water
    ("night_run_s",      "",      "kept", "kept",   "noon",           0,              "status", "s"),        # pumped this night
    ("night_ml",         "",      "kept", "kept",   "noon",           0,              "status", "ml"),       # water of this night
    ("used_mah",         "",      "kept", "kept",   "noon",           0,              "status", "mAh"),      # charge used this night
    ("left_mah",         "",      "kept", "kept",   "",               "capacity_mah", "",       "mAh"),      # charge in the battery, the most that fits; judged anew when a battery is put on
    ("rest_over_mv",     "",      "kept", "kept",   "battery",        UNSEEN_MV,      "",       "mV"),        # what it last read at rest, over what that charge should
    ("worked",           "",      "kept", "kept",   "battery",        0,              "",       "0/1"),       # it has pumped since it was put on: a charger's last volts are gone
    ("begun_mv",         "",      "kept", "kept",   "battery",        0,              "",       "mV"),        # what it read at rest when it began to be followed; 0: not yet
    ("begun_mah",        "",      "kept", "kept",   "battery",        "capacity_mah", "",       "mAh"),       # what was counted in it then
    ("since_mah",        "",      "kept", "kept",   "battery",        0,              "",       "mAh"),       # charge used since then
    ("room_mv",          "",      "kept", "kept",   "battery",        NEVER,          "",       "mV"),        # how far above the cut-out its last run ended; -1: none has
    ("reads_low_mv",     "",      "kept", "kept",   "",               "battery_error_mv", "",     "mV"),        # the battery channel reads so much too low, at the most
    ("part_ma_ms",       "",      "lost", "kept",   "",               0,              "",       "mA ms"),    # charge used that is not yet a whole mAh
    ("night_use_mah",    "",      "kept", "kept",   "line",           0,              "status", "mAh"),      # what a whole night takes
    ("resistance_mohm",  "",      "lost", "kept",   "battery person", 0,              "status", "mohm"),     # of the supply, learned at the last start; 0: not yet
    ("judged",           "",      "lost", "kept",   "",               0,              "",       "0/1"),      # what the battery holds was judged since power came
    ("base_pa",          "",      "kept", "kept",   "line",           0,              "status", "Pa"),       # normal pressure, learned in the first nights; 0: not yet
    ("base_nights",      "",      "kept", "kept",   "line",           0,              "",       "nights"),   # how many nights it was learned from
    ("tonight_pa",       "",      "lost", "lost",   "noon line",      0,              "",       "Pa"),       # normal pressure of this night; 0: not yet. A proof has odd ones
    ("drift_permille",   "",      "lost", "lost",   "noon line",      0,              "",       "permille"), # how far tonight's is from it
    ("dry_run_ms",       "",      "kept", "kept",   "noon person",    0,              "status", "ms"),        # pumped without water this night, fillings that brought it apart
    ("heat_ms",          "",      "kept", "kept",   "",               0,              "",       "ms"),       # pumping that the motor has not cooled from
    ("starts",           "",      "kept", "kept",   "",               0,              "",       "starts"),   # in the last hour
    ("start_ages_ms",    "start", "lost", "kept",   "",               HOUR_MS,        "",       "ms"),       # how long ago each was; after a power loss all were just now
    ("run_open",         "",      "kept", "kept",   "",               0,              "",       "0/1"),       # a run has begun and was not seen to end; kept before the relay closes
    ("broken_runs",      "",      "kept", "kept",   "person",         0,              "status", "runs"),      # broken off by a loss of power, one after the other
    ("stuck_relay",      "",      "kept", "kept",   "person",         0,              "",       "relay"),      # which of two in series does not open (second_relay.py); 0: neither
    ("proved_day",       "",      "kept", "kept",   "",               NEVER,          "",       "day"),        # when both were last seen to open
    ("off_ms",           "",      "lost", "kept",   "",               0,              "",       "ms"),       # how long the pump is known to have stood still
    ("rain_closed",      "",      "lost", "kept",   "",               0,              "",       "0/1"),      # the rain contact is closed
    ("rain_said",        "",      "lost", "kept",   "",               0,              "",       "0/1"),       # the log says that it rains
    ("rain_records",     "",      "lost", "kept",   "noon",           0,              "",       "records"),   # of rain, this night
    ("wet_ms",           "",      "lost", "kept",   "",               0,              "",       "ms"),       # how long the contact has been closed
    ("dry_ms",           "",      "lost", "kept",   "",               GAP_MS_MAX,     "",       "ms"),       # how long ago the rain stopped
    ("clock_bad",        "",      "lost", "kept",   "clock",          CLOCK_NOT_SET,  "status", "verdict"),  # what is wrong with the clock (clockwatch.py); 0: it is believed
    ("tries",            "rule",  "kept", "kept",   "noon person",    0,              "",       "times"),    # retries after the rule, this night
    ("said",             "rule",  "lost", "lost",   "noon person",    0,              "",       "0/1"),      # the rule has warned, this night; new settings may warn again
)
# fmt: on

LINE_KEYS = ("normal_pa", "static_pa", "flow_ml_min")
"""Settings that are other ones when nozzle, hose or lift are."""

STARTS_KEPT = 60
COUNTS = {"": 0, "set": SETS + 1, "rule": len(RULES), "start": STARTS_KEPT}
"""How many numbers a row has; 0: one that stands alone. Set 0 is the run by hand."""


def _places(column: int, word: str) -> tuple:
    return tuple([place for place, row in enumerate(FACTS) if word in row[column].split()])


NAME, EACH, POWER, SETTINGS, ENDED_BY, START, SHOWN, UNIT = range(len(FACTS[0]))
_ENDED_BY = tuple([_places(ENDED_BY, event) for event in EVENTS])
_OVER_SETTINGS = _places(SETTINGS, "kept")


class Facts:
    """The numbers of the table, one attribute a row; a row that is "each" is a list.

    The lists stay the same objects for as long as the facts do: others may hold on to them.
    """

    def __init__(self, settings) -> None:
        self.settings = settings
        for row in FACTS:
            start = _start(settings, row[START])
            each = row[EACH]
            setattr(self, row[NAME], [start] * COUNTS[each] if each else start)

    def __getattr__(self, name: str):
        raise AttributeError("no such fact: " + name)

    def end(self, event: int) -> None:
        """Let go of what this event ends. Allocates nothing."""
        for place in _ENDED_BY[event]:
            row = FACTS[place]
            start = _start(self.settings, row[START])
            if row[EACH]:
                values = getattr(self, row[NAME])
                number = 0
                while number < len(values):
                    values[number] = start
                    number += 1
            else:
                setattr(self, row[NAME], start)

    def take_over(self, before) -> None:
        """Go on from the facts of a keeper with other settings."""
        for place in _OVER_SETTINGS:
            row = FACTS[place]
            self.put(row, getattr(before, row[NAME]))

    def put(self, row, value) -> None:
        """Give the fact of a row this value, or its list as many of these as there are.

        One that begins as a setting is never more than that.
        """
        if row[EACH]:
            values = getattr(self, row[NAME])
            some = value[: len(values)]
            values[: len(some)] = some
        elif isinstance(row[START], int):
            setattr(self, row[NAME], value)
        else:
            setattr(self, row[NAME], min(value, getattr(self.settings, row[START])))

    def is_new_line(self, before) -> bool:
        """Whether the settings say that nozzle, hose or lift are others than before."""
        for key in LINE_KEYS:
            if getattr(self.settings, key) != getattr(before.settings, key):
                return True
        return False

    def shown(self) -> list:
        """(name, value) of what the status shows."""
        return [(row[NAME], getattr(self, row[NAME])) for row in FACTS if row[SHOWN]]


def begun(settings):
    """The facts of a board that knows nothing yet."""
    return Facts(settings)


def _start(settings, start) -> int:
    return start if isinstance(start, int) else getattr(settings, start)
