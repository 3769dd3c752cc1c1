"""What the board answers to "status": what it does and why, what it waits for, what comes next.

A line a topic, name=value each. Times are the board's own; "none" stands for what there is not.
"""

from keeper import lines, plan
from keeper.cycle import DONE, FLAT, LOCKOUT, REST, SOAK, STATES
from keeper.records import CAUSE_RULE, CAUSES
from keeper.rules import NAME, RULES
from keeper.ticks import MASK, const

# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_CURRENT_MA = const(7)
_CLOSED_OFF = const(15)
_BATTERY_BAD = const(19)
_PRESSURE_BAD = const(20)
_CURRENT_BAD = const(22)
_METER_BAD = const(32)

NEXT_WHY = (
    "due",  # at its time, or now
    "proof",  # sets are held off for so long
    "rain",  # it will be left out if its time comes before that is over
    "motor",  # it waits after a run by hand, until it can be given whole
    # And why none comes.
    "no_sets",
    "no_clock",
    "flat",
    "lockout",
)
"""The words of the line "next"."""
DUE, PROOF, RAIN, MOTOR, NO_SETS, CLOCK, EMPTY, LOCKED = range(len(NEXT_WHY))


def lines_of(board):
    """The lines of the answer, unmarked. Without settings there is less to say."""
    keeper = board.keeper
    yield "status state=%s relay=%d trouble=%s" % (
        STATES[keeper.state],
        1 if keeper.settings and board.relay.level == keeper.relay.closed else 0,
        board.trouble.replace(" ", "_") or "none",
    )
    if keeper.settings:
        yield (
            "reads pressure_pa=%d battery_mv=%d left_mah=%d load_on=%d contacts=%d unasked=%d "
            "pressure_bad=%d battery_bad=%d"
            % (
                keeper.q[_PRESSURE_PA],
                keeper.q[_BATTERY_MV],
                keeper.facts.left_mah,
                board.inputs.load_on,
                board.inputs.contacts,
                keeper.q[_CLOSED_OFF],
                # Not 0: what stands above is the last good reading (keeper.sense.QUALITIES).
                keeper.q[_PRESSURE_BAD],
                keeper.q[_BATTERY_BAD],
            )
        )
        yield "facts " + " ".join([name + "=" + str(n) for name, n in keeper.facts.shown()])
        yield "why " + _why(keeper.facts)
        yield "held " + _held(keeper)
        yield "next " + next_set(keeper)
        yield "progress " + _progress(keeper.plan)
        yield "nights left_tenths=%d" % keeper.waiting.nights_left_tenths()
        if keeper.second:
            yield "relays " + keeper.second.told(board.relay.level)
        if keeper.settings.current_fitted:
            yield "current ma=%d bad=%d" % (keeper.q[_CURRENT_MA], keeper.q[_CURRENT_BAD])
        if keeper.settings.flow_fitted:
            yield "meter pulses=%d bad=%d" % (board.inputs.flow[0].total, keeper.q[_METER_BAD])
    yield "log oldest=%d next=%d waiting=%d lost=%d failed=%d" % (
        board.log.oldest,
        board.log.next_seq,
        board.log.waiting,
        board.log.lost,
        board.log.failed,
    )
    yield "loop slowest_ms=%d passed_over=%d relay_failed=%d timer=%s" % (
        board.slow_ms,
        board.serial.passed_over,
        board.relay.failed,
        board.relay.timer,
    )
    if board.trial.settings is not None:
        yield "trial left_s=%d" % board.trial.left_s(board.time.ticks_ms() & MASK)


def _why(facts) -> str:
    """The last stop: a cause of the log or a rule, by its name."""
    cause = facts.stop_cause
    if cause < 0:
        return "cause=none set=none at=none"
    name = CAUSES[cause] if cause < CAUSE_RULE else RULES[cause - CAUSE_RULE][NAME]
    # What happened while no clock was to be believed has no time.
    at = _time(facts.stop_day, facts.stop_second) if facts.stop_day >= 0 else "none"
    return "cause=%s set=%s at=%s" % (name.replace(" ", "_"), _number(facts.stop_set), at)


def _held(keeper) -> str:
    """What holds sets off, and how long still."""
    facts = keeper.facts
    quiet_ms = keeper.quiet_ms
    until = facts.hold_until_night
    pauses = keeper.state == SOAK or keeper.state == REST
    return "until=%s proof_s=%d rain_s=%d pause_s=%d" % (
        lines.date_text(until) if until > facts.night else "none",
        max(facts.held_off_ms - quiet_ms, 0) // 1000,
        keeper.rain.skips_for_s(),
        max(keeper.waiting.pause_ms - quiet_ms, 0) // 1000 if pauses else 0,
    )


def next_set(keeper) -> str:
    """The set that comes next, and what is in its way; or why none comes."""
    facts = keeper.facts
    sets = keeper.plan
    none = "set=none at=none why="
    if keeper.state == LOCKOUT:
        return none + NEXT_WHY[LOCKED]
    if keeper.state == FLAT:
        return none + NEXT_WHY[EMPTY]
    if facts.clock_bad:
        return none + NEXT_WHY[CLOCK]
    since_noon = plan.since_noon_s(keeper.clock.second)
    after_stop = facts.night + 1 if keeper.state == DONE or facts.night_over else facts.night
    first = max(facts.hold_until_night, after_stop)
    number, night = sets.upcoming(facts.night, since_noon, first)
    if number == plan.NONE:
        return none + NEXT_WHY[NO_SETS]
    second = sets.starts_s[number] + plan.NOON_S
    until_s = (night - facts.night) * plan.DAY_S + sets.starts_s[number] - since_noon
    why = DUE
    if facts.held_off_ms // 1000 > max(until_s, 0):
        why = PROOF
    elif keeper.rain.skips_for_s() > max(until_s, 0):
        why = RAIN
    elif until_s <= 0 and keeper.waiting.must_rest(number):
        why = MOTOR
    at = _time(night + second // plan.DAY_S, second % plan.DAY_S)
    return "set=%d at=%s why=%s" % (number, at, NEXT_WHY[why])


def _progress(sets) -> str:
    """The set that is being given, or that pauses; its target is a time or an amount."""
    number = sets.current
    if number == plan.NONE:
        return "set=none"
    return "set=%d run=%d runs=%d given_s=%d given_ml=%d target_%s=%d" % (
        number,
        sets.run,
        sets.runs[number],
        sets.given_s[number],
        sets.given_ml[number],
        "ml" if sets.by_volume else "s",
        sets.target,
    )


def _time(day: int, second: int) -> str:
    return lines.date_text(day) + "_" + lines.time_text(second)


def _number(number: int) -> str:
    return "none" if number < 0 else str(number)
