"""What the board answers to "say": plain words, no wider than a phone's terminal.

For somebody at the plot with a phone and a cable. Loaded when it is asked for (seldom.py).
"""

from keeper import lines, plan
from keeper.cycle import DONE, FLAT, LOCKOUT, REST, UNSET
from keeper.records import CAUSE_RULE, CAUSES
from keeper.ticks import const

from . import status

WIDTH = const(40)
_LOG_LINES = const(8)
_LOG_LOOKS = 5
"""The last night's record is among the last lines: forty at the most are looked through."""

# By the state's number.
_STATES = (
    "cannot pump:|waiting|about to start: hands off|pump on, just started|pumping|"
    "a pause; it starts again by itself|stopped; it tries again by itself|"
    "stopped for the night, until noon|battery empty|LOCKED OUT"
)
# By the cause's number, for those that stop; the others only leave a set out.
_CAUSES = "all given|by hand|rain|||||the readings would not settle before the start|cut by noon|"
# By the rule's number: its name, and which of the looks goes with it, counted from "0".
_RULES = (
    "pressure over the rating 0|line shut 0|pump ran dry 1|pump drew no water 1|line open 2|"
    "pressure creeping away 3|battery flat 4|voltage too low for the pump 5|voltage too high 6|"
    "battery, clamps or cable getting weak 5|battery, clamps or cable too weak to start 5|"
    "pump stuck 7|pump stuck 7|"
    "charge too low 4|ran too long 8|too many starts 9|motor must cool 8|pump does not stop :|"
    "pump gets no power ;|relay chatters (opens and closes by itself) <|board was late 9|"
    "sensor wires exchanged <|"
    "battery reading bad <|pressure reading bad <|battery reading does not move <|"
    "temperature reading bad <|current reading bad <|clock cannot be trusted =|frost 9|"
    "pump's fuse blown (pump stuck?) 7|power lost in mid-run again and again >|"
    "pump dry for too long 1|one of two relays stays closed ?|little water past the meter @|"
    "flow meter stands still A"
)
_LOOKS = (
    "Open the taps. Kinked hose? Blocked nozzle?|"
    "Strainer under water, clean? Suction joints, foot valve?|"
    "Hose burst, a part off? Then the strainer.|"
    "Clean strainer and nozzle.|"
    "Charge it at home.|"
    "Hand switch off. Clean and tighten both clamps.|"
    "Charger off. Is it a 12 V battery?|"
    "Hand switch and clamps off. Does the pump turn by hand?|"
    "Shorter sets, longer pauses.|"
    "|"
    "HAND SWITCH OFF NOW: the board cannot stop this pump.|"
    "Hand switch, pump's fuse, plugs?|"
    "Hand switch off. Look at wires and plugs.|"
    "Set the clock.|"
    "Hand switch off, then fuse and clamps.|"
    "Hand switch off. That relay must be changed.|"
    "Tap open? Strainer under water? Does the meter's wheel turn?|"
    "Does the meter's wheel turn? Its plug?"
)
# By the place of status.NEXT_WHY.
_NEXT = (
    "|, but a proof holds it off|, but left out: rain|, when the motor has cooled|"
    "none is set|set the clock|charge the battery|look first, then hold the button for 3 s"
)


def lines_of(board) -> list:
    """The lines of the answer, no wider than WIDTH."""
    keeper = board.keeper
    found: list = []
    now = "Now: " + _STATES.split("|")[keeper.state]
    if keeper.state == UNSET:
        _wrap(now + " " + board.trouble, found)
    else:
        _wrap(now, found)
        sets = keeper.plan
        number = sets.current
        if number != plan.NONE:
            name = "Set %d so far" % number if number else "By hand so far"
            _wrap(_given(keeper, name, sets.given_s[number], sets.given_ml[number]), found)
        _stop(keeper, found)
        _wrap(_next(keeper), found)
        _night(board, found)
        tenths = keeper.waiting.nights_left_tenths()
        _wrap("Battery: %d.%d nights left" % (tenths // 10, tenths % 10), found)
    clock = board.clock
    trust = "" if clock.ok else ", not to be believed"
    _wrap("Clock: " + _time(clock.day, clock.second) + trust, found)
    return found


def _stop(keeper, found: list) -> None:
    """The last stop, and what to look at where it holds the board up."""
    facts = keeper.facts
    cause = facts.stop_cause
    if cause < 0:
        return
    look = ""
    if cause < CAUSE_RULE:
        name = _CAUSES.split("|")[cause] or CAUSES[cause]
    else:
        name, _, place = _RULES.split("|")[cause - CAUSE_RULE].rpartition(" ")
        look = _LOOKS.split("|")[ord(place) - 48]
    at = ", " + _time(facts.stop_day, facts.stop_second) if facts.stop_day >= 0 else ""
    _wrap("Last stop: " + name + at, found)
    if look and keeper.state in (REST, DONE, FLAT, LOCKOUT):
        _wrap(look, found)


def _next(keeper) -> str:
    """The set that comes next, or why none does: from what the status says of it."""
    number, at, why = [word.split("=")[1] for word in status.next_set(keeper).split(" ")]
    why = _NEXT.split("|")[status.NEXT_WHY.index(why)]
    if number == "none":
        return "No set comes: " + why
    return "Next: set " + number + ", " + at[:16].replace("_", " ") + why


def _night(board, found: list) -> None:
    """What this night has given so far, or in the day the last one, from the log."""
    facts = board.keeper.facts
    if facts.night_run_s:
        name = "Last night" if board.clock.second < plan.NOON_S else "Tonight so far"
        _wrap(_given(board.keeper, name, facts.night_run_s, facts.night_ml), found)
        return
    # To look through the log takes more than a tick may.
    last = 0 if board.pumping_soon() else board.log.next_seq
    looks = _LOG_LOOKS
    while last > 0 and looks:
        looks -= 1
        last -= _LOG_LINES
        for line in reversed(board.log.lines_from(max(last, 0), _LOG_LINES)):
            words = line.split(" ")
            if words[4] == "night":
                run_s, ml = [int(word.split("=")[1]) for word in words[5:7]]
                _wrap(_given(board.keeper, "The night to " + words[1], run_s, ml), found)
                return


def _given(keeper, name: str, seconds: int, ml: int) -> str:
    """Minutes, and litres where a transducer has told them."""
    if not seconds:
        return name + ": no water"
    litres = ", %d L" % ((ml + 500) // 1000) if keeper.settings.pressure_fitted else ""
    return name + ": %d min" % ((seconds + 30) // 60) + litres


def _time(day: int, second: int) -> str:
    return lines.date_text(day) + " " + lines.time_text(second)[:5]


def _wrap(sentence: str, found: list) -> None:
    """Add a sentence as lines; those after the first are set in by a blank."""
    line = ""
    for word in sentence.split(" "):
        if line and len(line) + 1 + len(word) > WIDTH:
            found.append(line)
            line = ""
            word = " " + word
        line = line + " " + word if line else word
    found.append(line)
