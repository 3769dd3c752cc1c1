"""The verdict: a handful of questions, each answered in plain words with its figure.

Every question is judged by the same rule wherever it is asked: in the report, for each change
that is tried, and for each draw of an uncertain site. They come in the order of the water's way
(source, suction, spray) and the current's (volts, wiring, limits, battery), soil and crop last.
"""

from collections.abc import Callable
from math import isfinite

from rillkeeper.design.size.facts import Facts
from rillkeeper.design.size.nights import NIGHTS_MAX
from rillkeeper.design.standing import VALVE_WANTED
from rillkeeper.display_units import Shown, counted, duration_text
from rillkeeper.verdict import ACT, GOOD, LOOK, Answer, Verdict, in_state

COVERED, HARDLY_COVERED = 0.95, 0.85
"""Share of the plot within reach; in the corners of the rest a can does it (common practice)."""
WORTH_MOVING = 0.05
"""What a stand in the middle must gain to be worth the walk: common practice, no source."""
FALL_DAYS = 14.0
"""Sooner than that a falling water deserves a word: common practice, no source."""
DU_POOR = 55.0
"""From there down more minutes drown the rest of the plot: common practice, no source."""
DU_FAIR = 65.0
"""A lower DU of the low quarter is a poor one for sprinklers on fixed stands (trade scale: from
65 fair, 75 good; from memory)."""
MORE_EVEN = "Set the stand better, or add a second one: longer sets drown the rest of the plot."
RINGED = 0.5
"""Share of the water in a ring from which it is worth a word."""
MARGIN_GOOD_M = 0.5
"""NPSH to spare: usual for small pumps, common practice, no source."""
DAY_S = 86400.0
DROP_GOOD, DROP_MOST = 0.03, 0.10
"""Critical and other circuits of ABYC E-11, from memory."""


def verdict_of(facts: Facts, shown: Shown) -> Verdict:
    """What the facts say to somebody who wants to know whether to buy."""
    answers = tuple(ask(facts, shown) for ask in _questions(facts))
    return Verdict(answers, _sentence(answers))


def _questions(facts: Facts) -> list[Callable[[Facts, Shown], Answer]]:
    """What is worth asking; without water nothing else."""
    if not facts.runs:
        return [_water, *([_standing] if facts.source.runs_by_itself else [])]
    rest = [_suction, _cover, _jet, _volts, _wiring, _limits, _battery, _soil, _even, _need]
    if not isfinite(facts.watering.need_s):  # Nothing lands on the plot: no time is long enough.
        rest = [_suction, _cover, _jet, _volts, _wiring, _need]
    source = [_source] if _falls(facts) else []
    source += [_store] if isfinite(facts.source.empty_night) else []
    return [_water, *([_standing] if facts.source.runs_by_itself else []), *source, *rest]


def _sentence(answers: tuple[Answer, ...]) -> str:
    """The whole in one sentence."""
    wrong, lesser = in_state(answers, ACT), in_state(answers, LOOK)
    if wrong and wrong[0].key == "water":
        return f"This site cannot work: {_within(wrong[0].sentence)}"
    if wrong:
        reasons = "; ".join(_within(answer.short) for answer in wrong)
        return f"This site does not do its work yet: {reasons}."
    if lesser:
        reasons = "; ".join(_within(answer.short) for answer in lesser)
        return f"This site works, except that {reasons}."
    return "This site works: the spray covers the plot and nothing is overloaded."


def _within(sentence: str) -> str:
    """A sentence inside another."""
    return sentence[:1].lower() + sentence[1:]


def _water(facts: Facts, shown: Shown) -> Answer:
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


def _standing(facts: Facts, shown: Shown) -> Answer:
    """Whether the water stays where it is while the pump stands."""
    above = shown.text(facts.source.above_m, "length")
    sentence = f"The water stands {above} higher than the nozzle, and a standing pump is no valve"
    if facts.source.by_itself_m3_s > 0.0:
        flow = shown.text(facts.source.by_itself_m3_s, "flow")
        day = shown.text(facts.source.by_itself_m3_s * DAY_S, "volume")
        sentence += f": {flow} run through it day and night, {day} a day"
    else:
        sentence += ": only the springs of its valves hold the water, until sand keeps one open"
    return Answer(
        "standing",
        "Does the water stay where it is?",
        ACT,
        "water runs by itself: fit a valve",
        f"{sentence}.",
        VALVE_WANTED,
    )


def _falls(facts: Facts) -> bool:
    """Whether the level of the water falls so fast that it is worth asking about."""
    return min(facts.bare_days, facts.prime_days) < FALL_DAYS


def _source(facts: Facts, shown: Shown) -> Answer:
    """Whether the water stays high enough from one trip home to the next."""
    question = "Does the water stay high enough?"
    days, what, change = min(
        (facts.bare_days, "the strainer is bare", "Set the strainer deeper, and mind the lift."),
        (facts.prime_days, "a dry line no longer primes", "Set the pump lower."),
    )
    sentence = f"The water falls: after {counted(int(days), 'day')} {what}."
    state = ACT if days < facts.wanted else LOOK
    return Answer("source", question, state, f"{what} after {int(days)} days", sentence, change)


def _store(facts: Facts, shown: Shown) -> Answer:
    """Whether a cistern holds out, and when it wants filling."""
    question = "Does the source hold out?"
    night = round(facts.source.empty_night)
    short = f"the source is empty on night {night}"
    sentence = f"Without rain the source has too little left on night {night}"
    if isfinite(facts.source.empty_night_rain):
        sentence += f", with the usual rain on night {facts.source.empty_night_rain:.0f}"
    else:
        sentence += "; with the usual rain it holds out"
    change = f"Refill it before night {night}, water less, or take a larger one."
    state = ACT if night <= facts.wanted else LOOK
    return Answer("store", question, state, short, f"{sentence}.", change)


def _suction(facts: Facts, shown: Shown) -> Answer:
    """Whether the suction line lets the pump drink."""
    question = "Can the pump draw through the suction line?"
    margin = shown.text(facts.npsh_margin_m, "length")
    loss = shown.text(facts.suction_loss_m, "length")
    has = f"The suction line loses {loss} of head and leaves {margin} to spare (NPSH)"
    if facts.npsh_margin_m < 0.0:
        lack = shown.text(-facts.npsh_margin_m, "length")
        return Answer(
            "suction",
            question,
            ACT,
            "the suction line starves the pump",
            f"The suction line loses {loss} of head and leaves the pump {lack} short of what it "
            "needs at its inlet (NPSH): it rattles, wears, and gives less water.",
            "Take the next wider suction bore, or a shorter line.",
        )
    if facts.npsh_margin_m < MARGIN_GOOD_M:
        change = "A wider suction bore gives room for a strainer that silts up."
        return Answer(
            "suction", question, LOOK, "little is left on the suction side", f"{has}.", change
        )
    return Answer("suction", question, GOOD, "the pump draws freely", f"{has}.")


def _cover(facts: Facts, shown: Shown) -> Answer:
    """Whether the spray reaches the plot."""
    question = "Does the spray cover the plot?"
    throw = shown.text(facts.throw_m, "length")
    reach = f"{100.0 * facts.watering.reach:.0f} %"
    corner = shown.text(facts.corner_m, "length")
    sentence = f"It throws {throw} and reaches {reach} of the plot; the far corner is {corner} off"
    sentence += "."
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


def _jet(facts: Facts, shown: Shown) -> Answer:
    """Whether the sprinkler has the pressure that it is made for."""
    question = "Does the jet break up?"
    at = shown.text(facts.nozzle_pa, "pressure")
    change = "A smaller nozzle, a wider hose or a thicker cable gives it more pressure."
    if facts.ring > RINGED:
        sentence = f"At {at} the jet hardly breaks up: much of the water falls in a ring."
        return Answer("jet", question, LOOK, "the jet hardly breaks up", sentence, change)
    if facts.nozzle_pa < facts.least_pa:
        least = shown.text(facts.least_pa, "pressure")
        sentence = f"The nozzle gets {at}, and its sheet asks for {least} at the least."
        short = "the sprinkler gets less than its least pressure"
        return Answer("jet", question, LOOK, short, sentence, change)
    sentence = f"The nozzle gets {at}."
    return Answer("jet", question, GOOD, "the jet breaks into drops", sentence)


def _even(facts: Facts, shown: Shown) -> Answer:
    """Whether the quarter that gets least gets enough of the mean."""
    question = "Does the water lie evenly?"
    du, windy = facts.watering.du, facts.watering.windy_du
    sentence = f"The driest quarter gets {du:.0f} % of the mean (DU), {windy:.0f} % in usual wind."
    if min(du, windy) < DU_FAIR:
        short = f"the water lies unevenly, DU {min(du, windy):.0f} %"
        return Answer("even", question, LOOK, short, sentence, MORE_EVEN)
    return Answer("even", question, GOOD, "the water lies evenly", sentence)


def _soil(facts: Facts, shown: Shown) -> Answer:
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
    if facts.split:
        change = "It is split into runs already: give more of them, or longer pauses."
    where = "in the ring around the stand" if facts.ring > RINGED else "where it falls thickest"
    short = f"{where} it rains faster than the ground takes it in"
    if plot.rate_mm_h > plot.infiltration_mm_h:
        short = "it rains faster than the ground takes it in"
    return Answer("soil", question, LOOK, short, f"{sentence}.", change)


def _need(facts: Facts, shown: Shown) -> Answer:
    """Whether the sets give what the crop uses."""
    question = "Do the sets give what the crop needs?"
    plot = facts.watering
    if not isfinite(plot.need_s):
        sentence = "No water comes down on the plot, so no time of pumping is enough."
        change = "Turn the sprinkler towards the plot, or set it nearer."
        return Answer("need", question, ACT, "no water comes down on the plot", sentence, change)
    sentence = (
        f"Crop and wet ground use {_depth(plot.need_mm, shown)} on a usual day. Judged by the "
        "quarter of the plot that gets least: the sets give "
        f"{_depth(plot.set_low_mm, shown)} there and {_depth(plot.set_mm, shown)} on average in "
        f"{duration_text(plot.set_s)}"
    )
    if not isfinite(plot.need_low_s):
        short = "a quarter of the plot gets no water"
        return Answer("need", question, LOOK, short, f"{sentence}.", MORE_EVEN)
    sentence += (
        f"; the need takes {duration_text(plot.need_low_s)} and "
        f"{shown.text(plot.need_low_m3, 'volume')} there, {duration_text(plot.need_s)} on average"
    )
    share = plot.set_low_mm / plot.need_mm if plot.need_mm > 0.0 else 1.0
    if share < 0.7:
        short = "the sets give the driest quarter less than the crop uses"
        change = MORE_EVEN if plot.windy_du < DU_POOR else "Water longer or oftener."
        return Answer("need", question, LOOK, short, f"{sentence}.", change)
    if share > 1.5:
        short = "the sets give more than the crop uses"
        return Answer("need", question, LOOK, short, f"{sentence}.", "Water less, or less often.")
    return Answer("need", question, GOOD, "the sets give what the crop uses", f"{sentence}.")


def _volts(facts: Facts, shown: Shown) -> Answer:
    """Whether the volts arrive at the motor."""
    question = "Do enough volts reach the pump?"
    drop = f"{100.0 * facts.wires.drop_share:.1f} %"
    sentence = (
        f"{facts.pump_v:.2f} V reach the motor at {facts.current_a:.1f} A; wiring takes {drop} "
        "of 12 V"
    )
    lasts = facts.nights >= 1.0  # A battery that is dead before has its own answer.
    if facts.pump_v < facts.minimum_v or (lasts and facts.used_pump_v < facts.minimum_v):
        left = f" With a used battery {facts.used_pump_v:.1f} V are left." if lasts else ""
        return Answer(
            "volts",
            question,
            ACT,
            "too few volts reach the motor",
            f"{sentence}.{left} The motor needs {facts.minimum_v:.1f} V.",
            "Bring the battery to the pump, or take a thicker cable.",
        )
    if facts.wires.drop_share > DROP_MOST:
        change = "Bring the battery to the pump, or take a thicker cable."
        return Answer("volts", question, ACT, f"the wiring takes {drop}", f"{sentence}.", change)
    if facts.wires.drop_share > DROP_GOOD:
        change = "A thicker or shorter cable gives a longer throw."
        return Answer("volts", question, LOOK, f"the wiring takes {drop}", f"{sentence}.", change)
    return Answer("volts", question, GOOD, f"the wiring takes {drop}", f"{sentence}.")


def _wiring(facts: Facts, shown: Shown) -> Answer:
    """Whether fuse and wire agree."""
    question = "Is the wiring safe?"
    wires = facts.wires
    fuse = f"{wires.fuse_a:g} A"
    if wires.ampacity_a is None:
        return Answer(
            "wiring",
            question,
            ACT,
            "the wire is too thin to be fused",
            f"A wire this thin must not carry a pump: {wires.fuse_refusal}.",
            "Take a thicker wire.",
        )
    carries = f"the wire carries {wires.ampacity_a:.0f} A"
    if not wires.fuse_protects:
        return Answer(
            "wiring",
            question,
            ACT,
            f"the fuse of {fuse} does not protect the wire",
            f"A fuse of {fuse} lets more through than is safe: {carries}. It could start a fire.",
            f"Fit a fuse of {wires.fuse_wanted_a:g} A."
            if wires.fuse_wanted_a
            else "Take a thicker wire.",
        )
    if not wires.fuse_holds:
        wanted = f"{wires.fuse_wanted_a:g} A" if wires.fuse_wanted_a else "a larger one"
        blows = wires.current_a > wires.fuse_a
        return Answer(
            "wiring",
            question,
            ACT if blows else LOOK,
            f"the fuse of {fuse} " + ("blows in a run" if blows else "is near to blowing"),
            f"The pump draws up to {wires.current_a:.1f} A and a fuse should be rated a quarter "
            f"above that; {carries}.",
            f"Fit a fuse of {wanted}.",
        )
    sentence = (
        f"The fuse of {fuse} holds {wires.current_a:.1f} A and protects the wire; {carries}."
    )
    return Answer("wiring", question, GOOD, "fuse and wire agree", sentence)


def _limits(facts: Facts, shown: Shown) -> Answer:
    """Whether the board has room for safe limits."""
    question = "Can the board protect it?"
    if facts.no_limits:
        short = "the board has no room for safe limits"
        return Answer("limits", question, ACT, short, facts.no_limits)
    normal, rating = (shown.text(p, "pressure") for p in (facts.highest_pa, facts.rating_pa))
    sentence = f"{normal} at most in normal work, {rating} rated: dead head, dry run and low "
    sentence += "charge each have a limit in between."
    return Answer("limits", question, GOOD, "safe limits exist", sentence)


def _battery(facts: Facts, shown: Shown) -> Answer:
    """Whether a charge lasts as long as wanted."""
    question = "How long does a charge last?"
    nights = f"{facts.nights:.1f} nights"
    sentence = (
        f"{facts.night_ah:.1f} Ah a night: {nights} on a charge, with {100.0 * facts.depth:.0f} % "
        f"of it used; {facts.wanted} wanted"
    )
    if facts.panel_w:
        with_panel = f"{facts.panel_nights:.1f}"
        if facts.panel_nights >= NIGHTS_MAX:
            with_panel = "as many as you like"
        sentence += f". With the panel of {facts.panel_w:g} W, on usual days: {with_panel}"
    if facts.nights >= facts.wanted:
        return Answer("battery", question, GOOD, f"a charge lasts {nights}", f"{sentence}.")
    size = facts.size_wanted_ah
    change = f"A battery of {size:.0f} Ah would do." if size else "Water in turns, or less."
    state = LOOK if facts.nights >= 1.0 else ACT
    return Answer(
        "battery",
        question,
        state,
        f"a charge lasts {nights} instead of {facts.wanted}",
        f"{sentence}.",
        change,
    )


def _depth(value_mm: float, shown: Shown) -> str:
    return shown.text(value_mm * 1e-3, "water depth")
