"""What a board's status says to a gardener: a sentence for each thing that it tells."""

from datetime import datetime

from rillkeeper.board.link.state import LastStop, Meter, Progress, Status, TwoRelays
from rillkeeper.display_units import Shown, counted, duration_text
from rillkeeper.runlog.rule_text import CAUSE_WORDS, RULES

STOPPED = ("rest", "done", "flat", "lockout")
"""States in which the last stop is why nothing is pumped."""

NO_NEXT = {
    "no_sets": "none: the board's settings have no set",
    "no_clock": "none until the clock is right: rillkeeper clock --set",
    "flat": "none until the battery is charged",
    "lockout": "none until you have looked and cleared the stop: rillkeeper clear",
}
"""By the board's word: why no set comes."""

IN_THE_WAY = {
    "due": "",
    "proof": ", but a proof holds sets off",
    "rain": ", but it will be left out: it has rained",
    "motor": ", when the pump has rested from the run by hand",
}
"""What is in the way of the set that comes next."""

OLDER = "this board's firmware is older and does not say; rillkeeper flash brings the new one"

_BY_HAND = "by hand"


def cause_words(cause: str) -> str:
    """A cause or a rule in words; one that a later board may have as it came.

    >>> cause_words("dead head"), cause_words("rain"), cause_words("moles")
    ('line shut', 'rain', 'moles')
    """
    return RULES[cause].short if cause in RULES else CAUSE_WORDS.get(cause, cause)


def doing_words(now: Status) -> str:
    """The state, and how long it still lasts where that is known.

    A stop for the night ends at noon.
    """
    if now.state in ("soak", "rest") and now.held:
        return f"{now.doing}, {duration_text(now.held.pause_s)} still"
    return f"{now.doing}, until noon" if now.state == "done" else now.doing


def stop_words(stop: LastStop) -> str:
    """What stopped last, why and when."""
    if not stop.cause:
        return "nothing has stopped yet, or the board does not remember it"
    which = f" (set {stop.set})" if stop.set else " (run by hand)" if stop.set == 0 else ""
    return f"{cause_words(stop.cause)}{which}, {_when(stop.at)}"


def look_words(now: Status) -> str:
    """What to look at first, where the board stands still for something worth a look."""
    if now.state not in STOPPED or not now.last_stop or not now.last_stop.cause:
        return ""
    told = RULES.get(now.last_stop.cause)
    return told.look if told else ""


def two_relays_words(two: TwoRelays) -> str:
    """Which of two relays in series can be trusted to open, and when both last did.

    >>> two_relays_words(TwoRelays("", None)), two_relays_words(TwoRelays("first", None))
    ('not proved yet', 'the first does not open: the second alone stops the pump')
    """
    if two.stuck:
        other = "second" if two.stuck == "first" else "first"
        return f"the {two.stuck} does not open: the {other} alone stops the pump"
    return f"both seen to open on {two.proved}" if two.proved else "not proved yet"


def meter_words(meter: Meter) -> str:
    """What the flow meter has counted, and whether it can be believed.

    >>> meter_words(Meter(1, False)), meter_words(Meter(812, True))
    ('1 pulse since power-up', '812 pulses since power-up, and it stands still')
    """
    told = f"{counted(meter.pulses, 'pulse')} since power-up"
    return f"{told}, and it stands still" if meter.stands_still else told


def held_words(now: Status) -> list[str]:
    """What holds sets off, and until when."""
    held = now.held
    if held is None:
        return []
    words = []
    if held.until:
        words.append(f"on hold, as asked: no set before the evening of {held.until}")
    if held.proof_s:
        words.append(f"a proof: no set for {duration_text(held.proof_s)}")
    if held.rain_s:
        words.append(f"rain: a set due within {duration_text(held.rain_s)} is left out")
    return words


def next_words(now: Status) -> str:
    """The set that comes next and when, or why none does; empty where the board says nothing."""
    following = now.next_set
    if following is None:
        return ""
    if following.set is None:
        if following.why == "no_sets" and now.held and now.held.proof_s:
            return "none while a proof goes on"  # Its trial has none; the board's settings may.
        return NO_NEXT.get(following.why, f"none: {following.why}")
    way = IN_THE_WAY.get(following.why, f", but: {following.why}")
    return f"set {following.set}, {_when(following.at)}{way}"


def progress_words(going: Progress, shown: Shown, *, sees_water: bool = True) -> str:
    """How far the set is that is being given; ``sees_water``: a sensor tells of it."""
    name = f"set {going.set}" if going.set else "run by hand"
    run = f", run {going.run} of {going.runs}" if going.runs > 1 else ""
    water = shown.text(going.given_ml * 1e-6, "volume")
    if not sees_water:
        water = f"by the clock about {water}"
    time = duration_text(going.given_s)
    if going.target_ml is not None:
        of = shown.text(going.target_ml * 1e-6, "volume")
        return f"{name}{run}: {water} of {of}, in {time}"
    return f"{name}{run}: {time} of {duration_text(going.target_s or 0)}, {water}"


def calls_a_person(now: Status) -> str:
    """Why somebody should come and act, in a sentence; empty where nobody need.

    That is where the board does not pump until a person has acted, where the battery is flat, and
    where the night was stopped by a rule: not by a person, nor by frost, which breaks nothing.
    """
    cause = now.last_stop.cause if now.last_stop and now.state in STOPPED else ""
    why = f"{cause_words(cause)}. {look_words(now)}".rstrip(". ")
    if now.needs_a_person:
        return f"{now.needs_a_person}; stopped by: {why}" if cause else now.needs_a_person
    if now.state == "flat":
        return f"the board is {now.doing}" + (f": {why}" if cause else "")
    told = RULES.get(cause)
    if now.state != "done" or cause in ("", _BY_HAND) or (told and told.harmless):
        return ""
    return f"the board is {doing_words(now)}: {why}"


def _when(at: datetime | None) -> str:
    return f"{at:%Y-%m-%d %H:%M}" if at else "the time is not known"
