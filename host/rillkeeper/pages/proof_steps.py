"""The page of the notes with every step of the proof, made from the table of steps."""

from rillkeeper.board.proof.step import BENCH, START, WATER, Step, rule_needs
from rillkeeper.board.proof.steps import NOT_ON_SITE, STEPS, TIMED_WORDS

_INTRO = """\
`rillkeeper prove` walks these steps, says each sentence at its time, and waits for the board's own
record. Nothing here has to be typed: the page is for reading before you begin, and for a board
that is proved by hand over a terminal.

**Cautions.** Hands off pump and wiring whenever the battery is on and a start may come. Two people
are better than one; one keeps a hand on the switch. Keep children away from open water while a
strainer is lifted. Stop at the first step that does not do what it says.

Settings under *trial* are used from the board's memory for that step only (`try` in
[serial](serial.md)): they are gone after it, at Ctrl-C, at the next loss of power, and by
themselves when their time is over. The sets are off meanwhile, so that nothing starts by itself.

"Within" is the most that the board may take, by its own measure: ten ticks a second, and a log to
the second. Slack of 300 ms is a tick, a write of the flash, and rounding.
"""


def steps_page(made: str) -> str:
    """Every step in its order; ``made`` says where the page comes from."""
    parts = ["# Steps of the proof", "", made, _INTRO]
    for place in (BENCH, WATER):
        parts += [f"## {place.capitalize()}", ""]
        for step in STEPS:
            if step.place == place:
                parts += _step(step)
    parts += ["## Not to be met on site", ""]
    if not NOT_ON_SITE:
        parts += ["Nothing: every rule of the board has its step.", ""]
    parts += [f"- **{rule}**: {reason}" for rule, reason in NOT_ON_SITE.items()]
    return "\n".join(parts).rstrip("\n") + "\n"


def _step(step: Step) -> list[str]:
    rows = [f"### {step.id}", "", f"{step.title}. {_proves(step)}".strip(), ""]
    if step.caution:
        rows.append(f"- **Caution:** {step.caution}")
    rows.append(f"- First: {step.before}")
    if step.trial:
        rows.append("- Trial: " + ", ".join(f"`{line}`" for line in step.trial) + ".")
    if step.way == START:
        rows.append("- The pump is started by hand.")
    if step.during:
        rows.append(f"- While it runs: {step.during}")
    rows.append(f"- Must happen: {step.happens}.")
    if step.within:
        rows.append(f"- Within {_sum(step)}; measured: {TIMED_WORDS[step.timed]}.")
    if step.after:
        rows.append(f"- After: {step.after}")
    return [*rows, ""]


def _proves(step: Step) -> str:
    words = (step.needs + " " + rule_needs(step.rule)).split()
    needs = [word.lstrip("!").replace("_", " ") for word in words if not word.startswith("!")]
    bare = [word.lstrip("!").replace("_", " ") for word in words if word.startswith("!")]
    text = f"Proves [{step.rule}](protections.md#{slug(step.rule)})." if step.rule else ""
    if needs:
        text += f" Needs: {', '.join(dict.fromkeys(needs))}."
    if bare:
        text += f" For a board without: {', '.join(bare)}."
    return text.strip()


def _sum(step: Step) -> str:
    if step.unit not in ("ms", "s"):
        return f"{step.within[0]} {step.unit}"
    terms = [f"{term} ms" if isinstance(term, int) else f"`{term}`" for term in step.within]
    return " + ".join(terms)


def slug(rule: str) -> str:
    """The id of a rule in links.

    >>> slug("dead head")
    'dead-head'
    """
    return rule.replace(" ", "-")
