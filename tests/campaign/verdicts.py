"""What came of a night with faults: harm by the plant's truth, and words held against it."""

from collections.abc import Iterator

from rillsim.water.hammer import BURST
from tests.campaign.part import Row
from tests.campaign.right_words import FOLLOWS, WORDS, wrong_words

# What the pump and the battery stand, so that more of it is harm.
DRY_S = 120.0
"""Turning on air, all tries of a night together, filling a drained line not counted: the goal
of this project. Sheets of such pumps call short dry running harmless (common practice, no
source)."""
OVER_S = 1.0
PEAK_SHARE = 1.15
"""Above the rating for longer than a second, or by more than this: pumps and hoses are tested
well beyond their rating, but not by a dead head each night. Common practice, no source."""
WAVE_SHARE = BURST
"""The wave of a snapped tap on top of it: past this a hose may burst in a moment."""
HEAT_S = 100.0
"""A stalled motor of this class draws 3 to 4 times its highest current, and its winding stands
that for about ten seconds: ten times 3.5 squared less one. Common practice, no source."""
WEAK_S = 10.0
"""Driven below the sheet's least voltage, where it may stall. Common practice, no source."""
DRAINED_SHARE = 0.01
"""Of the capacity, taken from a battery that is already below its depth."""


def harm(row: Row) -> list[str]:
    """What befell pump or battery beyond what they stand."""
    toll = row["toll"]

    def past(key: str, limit: float, words: str) -> Iterator[str]:
        value = toll.get(key, 0.0)
        if value > limit:
            yield words.format(value)

    drained_ah = DRAINED_SHARE * row["capacity_ah"]
    return [
        *past("dry_s", DRY_S, "dry for {:.0f} s"),
        *past("over_s", OVER_S, "above the rating for {:.1f} s"),
        *past("peak_share", PEAK_SHARE, "up to {:.2f} of the rating"),
        *past("wave_share", WAVE_SHARE, "a wave up to {:.1f} of the rating"),
        *past("heat_s", HEAT_S, "hot: {:.0f} s of the winding's hundred"),
        *past("weak_s", WEAK_S, "under the pump's least voltage for {:.0f} s"),
        *past("drained_ah", drained_ah, "{:.1f} Ah from a battery below its depth"),
        *past("astray_s", 0.0, "driven for {:.1f} s out of turn"),
    ]


def wrong(row: Row, faults: tuple[str, ...], locked: bool) -> list[str]:
    """What is said that is not right, or not said although the water stays away."""
    if locked:
        left = [state for state in row["after"] if state not in ("lockout", "dark")]
        return [f"left the lockout for {left[0]}"] if left else []
    said = [word for word in row["said"] if word not in FOLLOWS]
    if said:
        return wrong_words(faults, said, row["load_sense"])
    stopped = row["toll"].get("on_s", 0.0) < 0.9 * row["sound_s"]
    silent = any(WORDS[fault].silent for fault in faults)
    return ["stopped without a word"] if stopped and not silent else []


def judge(row: Row, faults: tuple[str, ...], locked: bool = False) -> str:
    """The class of a cell."""
    if harm(row):
        return "harmed"
    if wrong(row, faults, locked):
        return "wrong"
    if locked or any(word not in FOLLOWS for word in row["said"]):
        return "right"
    return "silent" if row["felt"] else "not felt"


def line_on(row: Row, faults: tuple[str, ...], locked: bool = False) -> str:
    """What was wrong with a cell, and what was said in all."""
    what = harm(row) + [f'"{word}"' for word in wrong(row, faults, locked)]
    said = ", ".join(row["said"]) or "nothing"
    return f"{', '.join(what) or 'nothing wrong'} (said: {said})"
