"""Tells one record of the log in words: what was seen, what the board did, what to look at."""

from collections.abc import Callable
from dataclasses import dataclass

from keeper.clockwatch import VERDICTS
from keeper.cycle import LOCKOUT, STATES
from keeper.hand import BATTERY, COMMANDS, HOLD, RUN
from keeper.records import (
    AT_NOON,
    CAUSE_RULE,
    CAUSES,
    COMPLETE,
    HAND_RUN,
    MISSED,
    NO_CLOCK,
    ON_HOLD,
    POWER_BROKE_RUN,
)
from keeper.rules import ACTION, ACTIONS, END_RUN, LOCK, NAME, RETRY, RULES
from keeper.rules import NO_CLOCK as NO_CLOCK_RULE
from rillkeeper.display_units import Shown, counted, duration_text
from rillkeeper.runlog import rule_text, rule_variants
from rillkeeper.runlog.amounts import amount_text, in_runs
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.quantity_text import quantity_text

ROUTINE, NOTE, WARNING, STOP = range(4)
LEVELS = ("routine", "note", "warning", "stop")
"""What a record asks of the reader: nothing, to know, to look when there, to look at once."""


_ALL = Fitted()


@dataclass(frozen=True)
class Told:
    """One record in words."""

    level: int
    short: str
    """A few words for a table."""
    seen: str
    """A sentence: what was seen, with the limit and for how long."""
    did: str = ""
    """A sentence: what the board did about it."""
    look: str = ""
    """What a person should look at first."""


def tell(entry: Entry, shown: Shown, fitted: Fitted = _ALL) -> Told:
    """The record in words, claiming only what the sensors that are fitted can have told."""
    return TELLERS[entry.kind](entry, shown, fitted)


def cause_text(cause: int) -> str:
    """Why a run stopped or a set ended."""
    if cause >= CAUSE_RULE:
        rule = cause - CAUSE_RULE
        return rule_words(rule).short
    return rule_text.word_of(CAUSES, rule_text.CAUSE_WORDS, cause)


def rule_words(rule: int) -> rule_text.RuleWords:
    """The words of a rule; a later board may have rules that this version does not know."""
    if 0 <= rule < len(RULES):
        return rule_text.RULES[RULES[rule][NAME]]
    return rule_text.RuleWords(
        f"rule {rule}", "{value}, limit {limit}", "Use a later version of this tool to read on."
    )


def _seen(entry: Entry, shown: Shown, fitted: Fitted, *, warns: bool = False) -> str:
    rule = entry["rule"]
    name = RULES[rule][NAME] if 0 <= rule < len(RULES) else ""
    template = rule_words(rule).seen
    if warns:
        template = rule_variants.WARN_SEEN.get(name, template)
    # The pump's current tells of a relay that does not open, the load side of both.
    if not (fitted.load_sense or (fitted.current and name == "relay closed")):
        template = rule_variants.SEEN_WITHOUT_LOAD_SENSE.get(name, template)
    if not fitted.pressure:
        template = rule_variants.SEEN_WITHOUT_PRESSURE.get(name, template)
    seen = template.format(
        value=quantity_text(rule, entry["value"], shown),
        limit=quantity_text(rule, entry["limit"], shown),
        witness=_witness(fitted),
    )
    return seen[0].upper() + seen[1:]


def _witness(fitted: Fitted) -> str:
    """What tells of the pump where its wire is not looked at."""
    if fitted.battery and fitted.pressure:
        return "by the battery's voltage and the pressure"
    return "by the battery's voltage" if fitted.battery else "by the pressure"


def _trip(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    told = rule_words(entry["rule"])
    seen = _seen(entry, shown, fitted)
    if entry["held_ms"]:
        seen += f", for {duration_text(entry['held_ms'] / 1000)}"
    did = rule_text.word_of(ACTIONS, rule_text.ACTION_WORDS, entry["action"])
    if entry["action"] == RETRY:
        did = f"{did[:-1]} (try {entry['tries']})."
    elif entry["tries"]:
        did = f"After {counted(entry['tries'], 'more try', 'more tries')}: {_lower(did)}"
    if entry["action"] == LOCK and entry["rule"] < len(RULES):
        did = rule_variants.DID.get(RULES[entry["rule"]][NAME], did)
    goes_on = entry["action"] in (RETRY, END_RUN)
    level = NOTE if told.harmless else WARNING if goes_on else STOP
    return Told(level, told.short, seen + ".", did, _look(entry["rule"], fitted))


def _look(rule: int, fitted: Fitted) -> str:
    """Where to look first."""
    if rule == NO_CLOCK_RULE:
        return _clock_look(fitted)
    name = RULES[rule][NAME] if 0 <= rule < len(RULES) else ""
    first = "" if fitted.pressure else rule_variants.LOOK_WITHOUT_PRESSURE.get(name, "")
    return first + rule_words(rule).look


def _warn(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    rule = entry["rule"]
    told = rule_words(rule)
    seen = _seen(entry, shown, fitted, warns=True)
    action = RULES[rule][ACTION] if rule < len(RULES) else 0
    did = rule_text.word_of(ACTIONS, rule_text.ACTION_WORDS, action if action < RETRY else 0)
    return Told(WARNING, told.short, seen + ".", did, _look(rule, fitted))


def _skip(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    cause, value = entry["cause"], entry["value"]
    why = cause_text(cause)
    seen = f"Set {entry['set']} was left out: {why}."
    if cause == MISSED:
        state = rule_text.word_of(STATES, rule_text.STATE_WORDS, value)
        seen = f"Set {entry['set']} missed its time: the board was {state}."
        look = "See what kept it, in the lines before this one."
        short = f"missed, {state}" if value == LOCKOUT else "missed"
        return Told(WARNING, short, seen, "It will not be repeated later.", look)
    if cause == HAND_RUN:
        return Told(WARNING, "missed", seen, "It will not be repeated later.")
    if cause == NO_CLOCK:
        look = _clock_look(fitted)
        return Told(WARNING, f"left out: {why}", seen, "It will not be repeated later.", look)
    if cause == ON_HOLD:
        nights = f" for {counted(value, 'more night')}" if value else ""
        seen = f"Set {entry['set']} was left out: on hold{nights}."
    elif value:
        seen = f"Set {entry['set']} was left out: {why}, {duration_text(value)} before."
    return Told(NOTE, f"left out: {why}", seen)


def _short(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    planned, given = duration_text(entry["planned_s"]), duration_text(entry["given_s"])
    return Told(
        WARNING,
        "set cut short: charge",
        f"Set {entry['set']} needs {planned} of pumping, the battery has charge for {given}.",
        "The set was cut to what the battery can give.",
        "Take the battery home and charge it.",
    )


def _given(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    litres = shown.text(entry["given_ml"] * 1e-6, "volume")
    depth = shown.text(entry["depth_um"] * 1e-6, "water depth")
    name = f"Set {entry['set']}" if entry["set"] else "The run by hand"
    ran = duration_text(entry["run_s"])
    seen = f"{name} gave {litres} (about {depth}) in {ran}"
    if fitted.flow:
        seen = f"{name} gave {litres} by the flow meter (about {depth}) in {ran}"
    if not fitted.sees_water:
        seen = f"{name} ran for {ran}, which should give {litres} (about {depth})"
    if not entry["run_s"]:
        seen = f"{name} gave no water" if fitted.sees_water else f"{name} did not run"
    cause = cause_text(entry["cause"])
    ended = "" if entry["cause"] == COMPLETE else f"; stopped: {cause}"
    if entry["cause"] == AT_NOON:
        look = "Let the set begin earlier, or pause for less: it must be over by noon."
        return Told(NOTE, cause, f"{seen}; {cause}.", "The rest was not given.", look)
    return Told(ROUTINE, cause, f"{seen}{ended}.")


def _set(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    if not entry["set"]:
        return Told(ROUTINE, "run by hand", f"A run by hand, {entry['amount']} min.")
    amount = in_runs(amount_text(entry["unit"], entry["amount"], shown), entry["runs"])
    return Told(ROUTINE, f"set {entry['set']}", f"Set {entry['set']} is due: {amount}.")


def _start(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    left = shown.text(entry["left_mah"] * 3.6, "charge")
    rest = []
    if fitted.battery:
        rest.append(shown.text(entry["rest_mv"] * 1e-3, "voltage"))
    if fitted.pressure:
        rest.append(shown.text(entry["rest_pa"], "pressure"))
    at_rest = f"; at rest {' and '.join(rest)}" if rest else ""
    return Told(ROUTINE, "start", f"Run {entry['run']} starts, with {left} left{at_rest}.")


def _primed(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    took = duration_text(entry["prime_ms"] / 1000)
    if not fitted.sees_water:
        seen = f"{took} were allowed for the pump to draw water; no sensor tells whether it did."
        return Told(ROUTINE, "primed", seen)
    told = "the flow meter turns"
    if fitted.pressure:
        told = shown.text(entry["pressure_pa"], "pressure")
    return Told(ROUTINE, "primed", f"The pump has drawn water: {told} after {took}.")


def _learned(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    if not fitted.battery:
        return Told(ROUTINE, "supply", "The supply cannot be judged: no sensor for its voltage.")
    ohm = shown.text(entry["resistance_mohm"] * 1e-3, "resistance")
    volts = shown.text(entry["loaded_mv"] * 1e-3, "voltage")
    sag = shown.text((entry["rest_mv"] - entry["loaded_mv"]) * 1e-3, "voltage")
    seen = f"While the pump runs: {volts}, {sag} less than at rest. "
    seen += f"Battery, clamps and cable take that ({ohm})."
    return Told(ROUTINE, "supply", seen)


def _normal(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    if not fitted.pressure:
        return Told(ROUTINE, "normal", "The usual pressure is not known: no sensor for it.")
    tonight = shown.text(entry["pressure_pa"], "pressure")
    base = shown.text(entry["base_pa"], "pressure")
    return Told(ROUTINE, "normal", f"Usual pressure tonight {tonight}, on other nights {base}.")


def _minute(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    read = []
    if fitted.pressure:
        read.append(shown.text(entry["pressure_pa"], "pressure"))
    if fitted.sees_water:
        flow = shown.text(entry["flow_ml_min"] * 1e-6 / 60, "flow")
        read.append(flow if fitted.flow else f"about {flow}")
    if fitted.battery:
        read.append(shown.text(entry["battery_mv"] * 1e-3, "voltage"))
    read.append(f"{shown.text(entry['left_mah'] * 3.6, 'charge')} left")
    return Told(ROUTINE, "minute", f"A minute of pumping: {', '.join(read)}.")


def _stop(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    lasted = duration_text(entry["on_s"]) if entry["on_s"] else "less than 1 s"
    litres = shown.text(entry["given_ml"] * 1e-6, "volume")
    cause = cause_text(entry["cause"])
    seen = f"The run ends after {lasted}"
    if fitted.sees_water:
        seen += f" and {litres}" if fitted.flow else f" and about {litres}"
    return Told(ROUTINE, cause, seen + ("." if entry["cause"] == COMPLETE else f": {cause}."))


def _decay(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    after = duration_text(entry["after_ms"] / 1000)
    read = []
    if fitted.pressure:
        read.append(f"{shown.text(entry['pressure_pa'], 'pressure')} in the line")
    if fitted.battery:
        read.append(f"{shown.text(entry['battery_mv'] * 1e-3, 'voltage')} at the battery")
    told = ", ".join(read) or "no sensor tells more"
    return Told(ROUTINE, "decay", f"{after} after the stop: {told}.")


def _night(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    used = shown.text(entry["used_mah"] * 3.6, "charge")
    left = shown.text(entry["left_mah"] * 3.6, "charge")
    nights = entry["nights_tenths"] / 10
    seen = f"The night took {used}; {left} left, at least {nights:.1f} nights by its count."
    return Told(ROUTINE, "noon", seen)


def _battery(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    left = shown.text(entry["left_mah"] * 3.6, "charge")
    rest = f" It rests at {shown.text(entry['rest_mv'] * 1e-3, 'voltage')}."
    seen = f"The battery was charged or changed: {left} may be taken from it."
    return Told(NOTE, "battery charged", seen + (rest if fitted.battery else ""))


def count_brought_down(entry: Entry, shown: Shown) -> Told:
    """A record "battery" of a board that has brought its own count down."""
    rest = shown.text(entry["rest_mv"] * 1e-3, "voltage")
    left = shown.text(entry["left_mah"] * 3.6, "charge")
    seen = f"The battery rests lower than it should, at {rest}: counted as {left} from here on."
    look = "Did something else draw on it, is it tired, or is it another one?"
    return Told(NOTE, "battery lower", seen, look=look)


def _boot(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    cause = entry["cause"]
    what = (
        rule_text.BOOT_WORDS[cause]
        if cause < len(rule_text.BOOT_WORDS)
        else f"Started, cause {cause}"
    )
    state = rule_text.word_of(STATES, rule_text.STATE_WORDS, entry["state"])
    if not entry["settings_ok"]:
        look = "Send the board its settings again."
        return Told(
            STOP, "no valid settings", f"{what}. The board has no valid settings.", "", look
        )
    if cause == POWER_BROKE_RUN:
        look = rule_text.BROKEN_RUN_LOOK
        return Told(NOTE, "power lost in a run", f"{what}; the board was {state}.", "", look)
    return Told(ROUTINE, "power on", f"{what}; the board was {state}.")


def _clock(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    verdict = rule_text.word_of(VERDICTS, rule_text.VERDICT_WORDS, entry["verdict"])
    if not entry["verdict"]:
        return Told(ROUTINE, "clock good", "The clock is good.")
    off = f", {duration_text(abs(entry['off_s']))} off" if entry["off_s"] else ""
    did = rule_text.ACTION_WORDS["by hand"]
    seen = f"The clock {verdict}{off}."
    return Told(WARNING, f"clock {verdict}", seen, did, _clock_look(fitted))


def _clock_look(fitted: Fitted) -> str:
    return rule_text.RULES["no clock"].look if fitted.clock_chip else rule_variants.NO_CHIP_LOOK


def _rain(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    if entry["closed"]:
        return Told(NOTE, "rain", "It rains: the rain contact is closed.")
    return Told(ROUTINE, "rain over", "The rain is over: the contact is open.")


def _hand(entry: Entry, shown: Shown, fitted: Fitted) -> Told:
    command, value = entry["command"], entry["value"]
    if not 0 <= command < len(COMMANDS):
        return Told(
            NOTE, "by hand", f"A person sent command {command}, not known to this version."
        )
    told = {
        HOLD: f" for {counted(value, 'night')}",
        RUN: f" of {value} min" if value else "",
        BATTERY: f": {shown.text(value * 3.6, 'charge')}" if value else ": it is full",
    }.get(command, "")
    sentence = rule_text.COMMAND_WORDS[COMMANDS[command]].format(value=told)
    return Told(NOTE, "by hand", sentence)


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


TELLERS: dict[str, Callable[[Entry, Shown, Fitted], Told]] = {
    "boot": _boot,
    "set": _set,
    "start": _start,
    "primed": _primed,
    "learned": _learned,
    "normal": _normal,
    "minute": _minute,
    "stop": _stop,
    "decay": _decay,
    "trip": _trip,
    "warn": _warn,
    "skip": _skip,
    "short": _short,
    "given": _given,
    "night": _night,
    "battery": _battery,
    "clock": _clock,
    "rain": _rain,
    "hand": _hand,
}
"""By kind; a test holds it to the board's list."""
