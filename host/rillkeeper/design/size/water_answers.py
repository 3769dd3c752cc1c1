"""What the verdict asks about the water: source, suction, spray, soil, crop."""

from math import isfinite

from rillkeeper.design.size.answer import ACT, GOOD, LOOK, Answer
from rillkeeper.design.size.facts import Facts
from rillkeeper.display_units import Shown, counted, duration_text

COVERED, HARDLY_COVERED = 0.95, 0.85
"""Share of the plot within reach; in the corners of the rest a can does it (common practice)."""
WORTH_MOVING = 0.05
"""What a stand in the middle must gain to be worth the walk: common practice, no source."""
FALL_DAYS = 14.0
"""Sooner than that a falling water deserves a word: common practice, no source."""
RINGED = 0.5
"""Share of the water in a ring from which it is worth a word."""
MARGIN_GOOD_M = 0.5
"""NPSH to spare: usual for small pumps, common practice, no source."""


def water(facts: Facts, shown: Shown) -> Answer:
    """Whether water comes."""
    question = "Does water come?"
    lift = shown.text(facts.lift_m, "length")
    if not facts.runs:
        why = facts.stands_because
        return Answer("water", question, ACT, "no water comes", why, facts.stands_change)
    if not facts.primes:
        dry = shown.text(facts.dry_lift_m, "length")
        return Answer(
            "water",
            question,
            ACT,
            "the pump cannot prime",
            f"The pump primes a dry line over {dry} at most, and stands {lift} above the water.",
            f"Set the pump lower than {dry} above the lowest water, or choose one that primes "
            "higher.",
        )
    flow = shown.text(facts.flow_m3_s, "flow")
    sentence = f"{flow} over a lift of {lift}"
    if isfinite(facts.prime_s):
        sentence += f"; a dry line primes and fills in {duration_text(round(facts.prime_s))}"
    return Answer("water", question, GOOD, f"{flow} flows", f"{sentence}.")


def falls(facts: Facts) -> bool:
    """Whether the level of the water falls so fast that it is worth asking about."""
    return min(facts.bare_days, facts.prime_days) < FALL_DAYS


def source(facts: Facts, shown: Shown) -> Answer:
    """Whether the water stays high enough from one trip home to the next."""
    question = "Does the water stay high enough?"
    days, what, change = min(
        (facts.bare_days, "the strainer is bare", "Set the strainer deeper, and mind the lift."),
        (facts.prime_days, "a dry line no longer primes", "Set the pump lower."),
    )
    sentence = f"The water falls: after {counted(int(days), 'day')} {what}."
    state = ACT if days < facts.wanted else LOOK
    return Answer("source", question, state, f"{what} after {int(days)} days", sentence, change)


def suction(facts: Facts, shown: Shown) -> Answer:
    """Whether the suction line lets the pump drink."""
    question = "Does the suction line let the pump drink?"
    margin = shown.text(facts.npsh_margin_m, "length")
    loss = shown.text(facts.suction_loss_m, "length")
    has = f"The suction line loses {loss} of head and leaves {margin} of NPSH to spare"
    if facts.npsh_margin_m < 0.0:
        lack = shown.text(-facts.npsh_margin_m, "length")
        return Answer(
            "suction",
            question,
            ACT,
            "the suction line starves the pump",
            f"The suction line loses {loss} of head and leaves the pump {lack} short of the NPSH "
            "that it needs: it rattles, wears, and gives less water.",
            "Take the next wider suction bore, or a shorter line.",
        )
    if facts.npsh_margin_m < MARGIN_GOOD_M:
        change = "A wider suction bore gives room for a strainer that silts up."
        return Answer(
            "suction", question, LOOK, "little is left on the suction side", f"{has}.", change
        )
    return Answer("suction", question, GOOD, "the pump drinks freely", f"{has}.")


def cover(facts: Facts, shown: Shown) -> Answer:
    """Whether the spray reaches the plot."""
    question = "Does the spray cover the plot?"
    throw = shown.text(facts.throw_m, "length")
    reach = f"{100.0 * facts.watering.reach:.0f} %"
    corner = shown.text(facts.corner_m, "length")
    sentence = f"It throws {throw} and reaches {reach} of the plot; the far corner is {corner} off"
    sentence += "."
    if facts.ring > RINGED:
        sentence += (
            f" At {shown.text(facts.nozzle_pa, 'pressure')} the jet hardly breaks up: much of the "
            "water falls in a ring."
        )
    if facts.watering.reach >= COVERED:
        return Answer("cover", question, GOOD, f"{reach} of the plot is reached", sentence)
    change = "Gain pressure at the nozzle (wider hose, thicker cable), or set the stand better."
    if facts.centre_reach > facts.watering.reach + WORTH_MOVING:
        change = (
            f"Set the stand in the middle of the plot, x = "
            f"{shown.text(facts.centre_x_m, 'length')} and y = "
            f"{shown.text(facts.centre_y_m, 'length')}: from there the same spray reaches "
            f"{100.0 * facts.centre_reach:.0f} % of it."
        )
    elif facts.ring > RINGED:
        change = "A smaller nozzle, a wider hose or a thicker cable gives it more pressure."
    state = LOOK if facts.watering.reach >= HARDLY_COVERED else ACT
    short = f"the spray reaches only {reach} of the plot"
    return Answer("cover", question, state, short, sentence, change)


def soil(facts: Facts, shown: Shown) -> Answer:
    """Whether the ground takes the water as fast as it falls."""
    question = "Can the ground take it?"
    plot = facts.watering
    sentence = (
        f"{_depth(plot.rate_mm_h, shown)} an hour on average and "
        f"{_depth(plot.peak_mm_h, shown)} where it falls thickest; the soil takes in "
        f"{_depth(plot.infiltration_mm_h, shown)}"
    )
    if plot.peak_mm_h <= plot.infiltration_mm_h:
        return Answer("soil", question, GOOD, "the ground takes the water", f"{sentence}.")
    change = "Split the set into runs with a pause between them."
    short = "near the stand it rains faster than the ground drinks"
    if plot.rate_mm_h > plot.infiltration_mm_h:
        short = "it rains faster than the ground drinks"
    return Answer("soil", question, LOOK, short, f"{sentence}.", change)


def need(facts: Facts, shown: Shown) -> Answer:
    """Whether the sets give what the crop uses."""
    question = "Do the sets give what the crop needs?"
    plot = facts.watering
    if not isfinite(plot.need_s):
        sentence = "No water comes down on the plot, so no time of pumping is enough."
        change = "Turn the sprinkler towards the plot, or set it nearer."
        return Answer("need", question, ACT, "no water comes down on the plot", sentence, change)
    sentence = (
        f"The crop uses {_depth(plot.need_mm, shown)} on a usual day, which takes "
        f"{duration_text(plot.need_s)} and {shown.text(plot.need_m3, 'volume')}; "
        f"the sets give {_depth(plot.set_mm, shown)} in {duration_text(plot.set_s)}"
    )
    share = plot.set_mm / plot.need_mm if plot.need_mm > 0.0 else 1.0
    if share < 0.7:
        short = "the sets give less than the crop uses"
        return Answer("need", question, LOOK, short, f"{sentence}.", "Water longer or oftener.")
    if share > 1.5:
        short = "the sets give more than the crop uses"
        return Answer("need", question, LOOK, short, f"{sentence}.", "Water less, or less often.")
    return Answer("need", question, GOOD, "the sets give what the crop uses", f"{sentence}.")


def _depth(value_mm: float, shown: Shown) -> str:
    return shown.text(value_mm * 1e-3, "water depth")
