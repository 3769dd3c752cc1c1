"""A proof rehearsed at a desk: what `rillkeeper hand` does at each step of a virtual board's.

What cannot be done there, a meter, a lamp or an ear, is a look at the site (``hand --look``).
"""

from collections.abc import Collection
from dataclasses import dataclass

from rillkeeper.board.proof.measure import KNOWN_PA
from rillkeeper.board.proof.special_steps import PRESS, PRESS_AGAIN
from rillkeeper.board.proof.step import BENCH, Step
from rillkeeper.board.proof.supply_steps import IN_RESET, NO_POWER
from rillkeeper.board.proof.tub import FILL

LOOK = "--look"
_LEAD_OFF = "switch off lead off switch on"
_POWER = "power out wait 10 power in"
_PRESS = "button press"


@dataclass(frozen=True)
class Hands:
    """Words for `rillkeeper hand` at the stages of one step; what stands after a bar is for a
    site that has not what stands before it."""

    before: str = ""
    during: str = ""
    after: str = ""


# fmt: off
REHEARSED: dict[str, Hands] = {
    # Season.
    "stays-dead": Hands(),
    "relay-click": Hands(),
    "relay-closed": Hands("switch off wait 20 lead over switch on", after=_LEAD_OFF),
    "bad-pressure": Hands("pressure-plug out", after="pressure-plug in"),
    "pressure-zero": Hands("sensor-hose off", after="sensor-hose on"),
    "weak-supply": Hands("switch off pump-plug in strainer in tap open switch on"),
    "hand-switch": Hands("tap open", "switch off", "switch on"),
    "battery-meter": Hands(),
    "dead-head": Hands("tap open", "tap shut", "tap open"),
    "pressure-switch": Hands("tap open", "tap shut", "tap open"),
    "relay-closed-unsensed": Hands("switch off wait 20 lead over switch on", after=_LEAD_OFF),
    "dry-run": Hands("strainer in", "strainer out"),
    "no-prime": Hands("strainer out", after="strainer in"),
    "no-flow": Hands("tap open", "meter-plug out", "meter-plug in"),
    "fuse-and-joints": Hands("switch off", after="switch on"),
    # Build.
    "pull-down": Hands("switch off pump-plug out pin-wire out switch on",
                       after="switch off pin-wire in switch on"),
    "polarity": Hands(),
    "pressure-known": Hands("sensor-hose off", after="sensor-hose on"),
    "button": Hands(),
    "rain-contact": Hands("rain wet", after="rain dry"),
    "bad-battery": Hands("battery-plug out", after="battery-plug in"),
    "bad-frost": Hands("frost-plug out", after="frost-plug in"),
    "swapped": Hands("sensor-wires exchanged", after="sensor-wires right"),
    "frost": Hands("ice on", after="ice off"),
    "relay-open": Hands("coil-plug out", after="coil-plug in"),
    "relay-stuck": Hands("switch off wait 20 lead first switch on", after=_LEAD_OFF),
    "relay-chatter": Hands(during="sense-plug out sense-plug in"),
    "no-clock": Hands(f"clock-plug out | {_POWER}", after="clock-plug in |"),
    "power-lost": Hands(during=_POWER),
    "bad-current": Hands("switch off pump-plug in current-plug out strainer in tap open switch on",
                         after="current-plug in"),
    "flow-meter": Hands("tap open tub fill"),
    "bad-meter": Hands("tap open meter-plug out", after="meter-plug in"),
    "line-open": Hands("tee shut", "tee open", "tee shut"),
    "slow-choke": Hands("tap open", "tap part", "tap open"),
    "dry-too-long": Hands("strainer in", "strainer out", "strainer in"),
}
# fmt: on
"""By the step's name: all but those of the round that goes by itself."""

BY_ITSELF = "switch on pump-plug in strainer in tap open"
"""What must be so before that round."""

_ABOUT = {"pressure-switch": "pressure-switch"}
"""Parts that the board cannot know of, by the step that is left out without them."""
_TOLD = {
    NO_POWER: _POWER,
    IN_RESET: "reset press",
    PRESS: _PRESS,
    PRESS_AGAIN: _PRESS,
    FILL: "tub fill",
}
_ASKED = {KNOWN_PA: "sensor-hose 4m"}
"""Texts that one step says in turn, and questions that take more than a look."""
_OF_THE_DESK = ("Try this step again", "Then write ")


def hands_for(step: Step, text: str, there: Collection[str]) -> str:
    """Words for `rillkeeper hand` that do what a step says; empty where nothing is to be done.

    Parameters
    ----------
    step : Step
        The step
    text : str
        What it says now
    there : collection of str
        The hands that this site has, by name
    """
    hands = REHEARSED.get(step.id, Hands())
    stages = {step.during: hands.during, step.after: hands.after}
    if text == step.before:
        words = hands.before
        if "pump-plug" not in words:
            words = f"pump-plug {'out' if step.place == BENCH else 'in'} {words}"
    else:
        words = _TOLD.get(text) or stages.get(text, "")
    return next((one for one in map(str.strip, words.split("|")) if _fits(one, there)), "")


def lacking(step: Step, there: Collection[str]) -> str:
    """What a site has not that a step is about; empty where it has it."""
    part = _ABOUT.get(step.id, "")
    return part.replace("-", " ") if part and part not in there else ""


def hands_to_answer(question: str) -> str:
    """Words for `rillkeeper hand` that tell the answer to a question; empty where it is asked
    about nothing at the site."""
    if any(text in question for text in _OF_THE_DESK):
        return ""
    return _ASKED.get(question, LOOK)


def _fits(words: str, there: Collection[str]) -> bool:
    return {*words.split()[::2]} <= {*there, "wait"}
