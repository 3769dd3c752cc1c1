"""The verdict on a rule: from the records that the board wrote, and from what it does now."""

from collections.abc import Mapping

from keeper.hand import ONLY_OF_THIS_RUN
from keeper.rules import (
    ACTION,
    ACTIONS,
    BY_HAND,
    END_RUN,
    NAME,
    REFUSE,
    RETRY,
    RULES,
    SHORTEN,
    THEN,
    WARN,
)
from rillkeeper.board.link.state import Status
from rillkeeper.board.proof.outcome import FAILED, PASSED, Outcome
from rillkeeper.board.proof.step import (
    BEGAN,
    HELD,
    PRIMED,
    RESOLUTION_MS,
    SET,
    VALUE,
    Step,
    hold_ms,
    sum_ms,
)
from rillkeeper.runlog.lines import Entry

RULE_NAMES: tuple[str, ...] = tuple(row[NAME] for row in RULES)
_MARKS = {SET: "set", BEGAN: "start", PRIMED: "primed"}


def event_of(entry: Entry) -> str:
    """The rule that a record tells of, or nothing."""
    if entry.kind in ("trip", "warn") and 0 <= entry["rule"] < len(RULE_NAMES):
        return RULE_NAMES[entry["rule"]]
    return ""


def only_warns(rule: str) -> bool:
    """Whether a rule speaks and stops nothing."""
    return RULES[RULE_NAMES.index(rule)][ACTION] in (WARN, BY_HAND)


def verdict(
    step: Step,
    settings: Mapping[str, int],
    entries: list[Entry],
    trip: Entry,
    now: Status,
    told_ms: int,
) -> Outcome:
    """Was it this rule, in time, and is the pump off?

    Parameters
    ----------
    step : Step
        What was to be proved
    settings : mapping
        Those that were in force
    entries : list of Entry
        What the board wrote in this step
    trip : Entry
        The record of the rule
    now : Status
        The board after it
    told_ms : int
        Since the person's word, by this computer
    """
    measured = _measured(step, entries, trip, told_ms)
    limit = sum_ms(step.within, settings)
    if step.unit == "changes":
        limit = int(step.within[0])
    wrong = _wrong(step, trip, now)
    resolution = RESOLUTION_MS[step.timed]
    if measured is None:
        wrong = wrong or "the log does not show when it began"
    elif measured > limit + (resolution if resolution >= 1000 else 0):
        wrong = wrong or "it came too late"
    elif step.timed == HELD and measured < hold_ms(step.rule, settings):
        wrong = wrong or "it came before its hold time"
    unit = "ms" if step.unit == "s" else step.unit
    return Outcome(
        step.id,
        step.rule,
        FAILED if wrong else PASSED,
        wrong,
        measured,
        limit,
        unit,
        1000 if step.unit == "s" else resolution,
    )


def _measured(step: Step, entries: list[Entry], trip: Entry, told_ms: int) -> int | None:
    if step.timed == HELD:
        return trip.numbers.get("held_ms")
    if step.timed == VALUE:
        return trip["value"] * (1000 if step.unit == "s" else 1)
    if step.timed in _MARKS:
        kind = _MARKS[step.timed]
        marks = [entry for entry in entries if entry.kind == kind and entry.seq < trip.seq]
        return 1000 * (_second(trip) - _second(marks[-1])) if marks else None
    return told_ms


def _second(entry: Entry) -> int:
    return entry.day * 86400 + entry.second


def _wrong(step: Step, trip: Entry, now: Status) -> str:
    """What the board did otherwise than its table says."""
    if only_warns(step.rule):
        return "" if trip.kind == "warn" else "it must only warn"
    row = RULES[RULE_NAMES.index(step.rule)]
    action, then = row[ACTION], row[THEN]
    # Every start of a proof is one by hand.
    ends_run = action == REFUSE or RULE_NAMES.index(step.rule) in ONLY_OF_THIS_RUN
    allowed = (action, then) if action in (RETRY, SHORTEN) else (action,)
    allowed += (END_RUN,) if ends_run else ()
    if trip.kind != "trip" or trip["action"] not in allowed:
        return f"it must {ACTIONS[action]}"
    if now.relay:
        return "the relay is still closed"
    if now.load_on and step.rule != "relay closed":
        return "the pump's wire is still live"
    return ""
