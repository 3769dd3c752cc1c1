"""Draws a story from a seed: five nights of ordinary deeds and mishaps on a sound site.

Whatever is drawn, each night must have its water, and the board must wait for the next.
"""

from typing import TypeVar

import numpy as np

from .person import CannotBeDone
from .scenario import scenario_of
from .stage import Played, misses, play, seconds_of_water

Some = TypeVar("Some")

NIGHTS = 5
SET_MIN = 5
HAND_MIN = 3
DEEDS_MAX = 4
MISSING_S = 30.0
"""So much less is still all of the water: a battery that sinks, a line that fills."""
AGAIN_S = 75.0
"""What a loss of power under way may give twice: up to a minute since it was kept, and a start."""
ALLOWED = {"skip on hold", "warn no clock", "clock apart from the ticks", "clock went back"}
"""What may be said: the hold was asked for, and a clock that is misread for long is doubted."""

_SET_AT = 10 * 3600
_DAY_S = 86400
_AFTERNOON = (0, _SET_AT - 1200)
_NEAR = (_SET_AT - 600, _SET_AT - 1)
_AFTER = (_SET_AT + 1200, _DAY_S - 1)
"""Seconds since noon: nobody touches the board while the set runs."""
_KINDS = (*("quiet",) * 3, "proof", "hand run", "hold", "lifted", "misread")
_QUIET = ("apply limits", "restart", "update", "relearn", "clear", "set-clock")
_LIFTED_S = (0.3, 2.0, 5.0, 60.0, 600.0)
_MISREAD_S = (0.1, 1.0, 5.0)
_MISREAD = (0.0001, 0.001, 0.1, 1.0)


class _Draw:
    """One story under way."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.person: list[str] = []
        self.faults: list[str] = []
        self.minutes = [SET_MIN] * NIGHTS
        self.held = [False] * NIGHTS

    def one(self, choices: tuple[Some, ...]) -> Some:
        return choices[int(self.rng.integers(len(choices)))]

    def between(self, spell: tuple[int, int]) -> int:
        return int(self.rng.integers(spell[0], spell[1] + 1))

    def does(self, night: int, since_noon_s: int, what: str) -> None:
        second = (since_noon_s + _DAY_S // 2) % _DAY_S
        clock = f"{second // 3600:02}:{second // 60 % 60:02}:{second % 60:02}"
        self.person.append(f"{clock}@{night} {what}")

    def fault(self, night: int, name: str, lasts_s: float, severity: float) -> None:
        offset_s = self.between((0, _DAY_S - 1)) - _SET_AT
        self.faults.append(
            f'[[site.fault]]\nname = "{name}"\nnight = {night}\n'
            f'offset = "{offset_s} s"\nlasts = "{lasts_s} s"\nseverity = {severity}\n'
        )

    def deed(self, night: int) -> None:
        """One thing that is done, or goes wrong, in a night."""
        kind = self.one(_KINDS)
        if kind == "quiet":
            spell = self.one((_AFTERNOON, _NEAR, _AFTER))
            self.does(night, self.between(spell), self.one(_QUIET))
        elif kind == "proof":
            self.does(night, self.between(_AFTERNOON), f"try {self.between((1, 8))}")
            self.does(night, self.between(_NEAR), "try 0")
        elif kind == "hand run":
            self.does(night, self.between(_AFTERNOON), f"run {HAND_MIN}")
            self.minutes[night - 1] += HAND_MIN
        elif kind == "hold" and not self.held[night - 1]:
            self.does(night, self.between(_AFTERNOON), "hold 1")
            self.minutes[night - 1] -= SET_MIN
            self.held[night - 1] = True
        elif kind == "lifted":
            self.fault(night, "battery_lifted", self.one(_LIFTED_S), 1.0)
        elif kind == "misread":
            self.fault(night, "clock_misread", self.one(_MISREAD_S), self.one(_MISREAD))


def draw_story(seed: int) -> str:
    """The text of a story file."""
    draw = _Draw(seed)
    for night in range(1, NIGHTS + 1):
        for _ in range(draw.between((0, DEEDS_MAX))):
            draw.deed(night)
    person = ",\n".join(f'    "{deed}"' for deed in draw.person)
    watered = "\n".join(f'"{night}" = "{m} min"' for night, m in enumerate(draw.minutes, 1))
    faults = "\n".join(draw.faults)
    return (
        f'what = "Drawn from seed {seed}."\nnights = {NIGHTS}\nperson = [\n{person}\n]\n'
        f'expect = []\nend = "idle"\nset = "complete"\n\n[watered]\n{watered}\n\n{faults}\n'
        f'[[site.set]]\nstart = "22:00"\nrun = "{SET_MIN} min"\n'
    )


def wrong_story(seed: int) -> list[str] | None:
    """What must not come of a drawn story; None where it cannot happen so."""
    text = draw_story(seed)
    scenario = scenario_of(text, f"story {seed}")
    try:
        played = play(scenario)
    except CannotBeDone:
        return None
    lifted = text.count('"battery_lifted"')
    found = [miss for miss in misses(scenario, played) if " records of " in miss]
    found += [f"there was {line.event}" for line in played.events if line.event not in ALLOWED]
    found += _not_at_rest(played)
    both_s = zip(scenario.watered_s, seconds_of_water(scenario, played), strict=True)
    for night, (wanted_s, given_s) in enumerate(both_s, 1):
        if not -MISSING_S <= given_s - wanted_s <= MISSING_S + AGAIN_S * lifted:
            found.append(f"night {night}: {given_s:.0f} s of water, not {wanted_s:.0f}")
    return found


def _not_at_rest(played: Played) -> list[str]:
    found = [] if played.states[-1][1] == "idle" else [f"it ends in {played.states[-1][1]}"]
    if played.closed_in_vain:
        found.append(f"the relay was closed for {played.closed_in_vain} ticks without a run")
    return found
