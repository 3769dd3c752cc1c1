"""What the verdict asks about the current: volts, wiring, limits, battery."""

from rillkeeper.design.size.answer import ACT, GOOD, LOOK, Answer
from rillkeeper.design.size.facts import Facts
from rillkeeper.design.size.nights import NIGHTS_MAX
from rillkeeper.display_units import Shown

DROP_GOOD, DROP_MOST = 0.03, 0.10
"""Critical and other circuits of ABYC E-11, from memory."""


def volts(facts: Facts, shown: Shown) -> Answer:
    """Whether the volts arrive at the motor."""
    question = "Do the volts arrive?"
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


def wiring(facts: Facts, shown: Shown) -> Answer:
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
        return Answer(
            "wiring",
            question,
            LOOK,
            f"the fuse of {fuse} is near to blowing",
            f"The pump draws up to {wires.current_a:.1f} A and a fuse should be rated a quarter "
            f"above that; {carries}.",
            f"Fit a fuse of {wanted}.",
        )
    sentence = (
        f"The fuse of {fuse} holds {wires.current_a:.1f} A and protects the wire; {carries}."
    )
    return Answer("wiring", question, GOOD, "fuse and wire agree", sentence)


def limits(facts: Facts, shown: Shown) -> Answer:
    """Whether the board has room for safe limits."""
    question = "Can the board protect it?"
    if facts.no_limits:
        short = "the board has no room for safe limits"
        return Answer("limits", question, ACT, short, facts.no_limits)
    normal, rating = (shown.text(p, "pressure") for p in (facts.highest_pa, facts.rating_pa))
    sentence = f"{normal} at most in normal work, {rating} rated: dead head, dry run and low "
    sentence += "charge each have a limit in between."
    return Answer("limits", question, GOOD, "safe limits exist", sentence)


def battery(facts: Facts, shown: Shown) -> Answer:
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
        f"a charge lasts {nights}, not {facts.wanted}",
        f"{sentence}.",
        change,
    )
