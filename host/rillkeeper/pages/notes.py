"""The pages of the notes that are made from the board's own tables.

    python -m rillkeeper.pages.notes hardware_notes

writes ``protections.md``, ``states.md``, ``facts.md``, ``settings.md``, ``proof.md`` and
``shopping.md``; a test holds the committed pages to the tables.
"""

import re
import sys
from collections.abc import Callable
from pathlib import Path

from keeper import cycle, facts, rules, settings
from rillkeeper import row_words
from rillkeeper.board.proof.look_at import LOOK_AT
from rillkeeper.board.proof.minutes import TYPICAL, minutes, step_s
from rillkeeper.board.proof.rounds import ROUNDS, steps_of
from rillkeeper.board.proof.step import HALT, START, Step, rule_needs
from rillkeeper.board.proof.steps import (
    NOT_BY_BATTERY_ALONE,
    NOT_ON_SITE,
    NOT_WITHOUT_LOAD_SENSE,
    STEPS,
    TIMED_WORDS,
)
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.shopping import shopping_of
from rillkeeper.design.size.wires import wires_of
from rillkeeper.pages.lamp import lamp_table
from rillkeeper.runlog import rule_text
from rillkeeper.site.file import demo_site

_MADE = "This page is made from `{source}`; change it there and run `make notes`.\n"
_SCENARIOS = Path(__file__).parents[3] / "tests" / "scenarios"
_INTRO = """\
`rillkeeper prove` walks these steps, says each sentence at its time, and waits for the board's own
record. Nothing here has to be typed: the page is for reading before you begin, and for a board
that is proved by hand over a terminal. The command says which round is due by the record;
`rillkeeper prove --round season` walks one, `--only dead-head` one step. What was broken off is
gone on with, each round by itself. Terminals (X3.1) and numbers of wires are those of the
[wire list](wires.md).

All of it can be rehearsed at a desk: on a virtual board (`rillkeeper board`) each step says by
which `rillkeeper hand` it is done there, and `rillkeeper hand --look` tells what lamp, meter and
ear would.

**Cautions.** Hands off pump and wiring whenever the battery is on and a start may come. **Hand
switch off first, on last**; no clamp is taken off for any step. The strainer is lifted by two,
from firm ground, and children are kept away from open water. Stop at the first step that does not
do what it says.

Settings under *trial* are used from the board's memory for that step only (`try` in
[serial](serial.md)): they are gone after it, at Ctrl-C, at the next loss of power, and by
themselves when their time is over. The sets are off from the first question to the end, over a
loss of power too; a board that nobody answers for three hours is on its own again.

"Within" is the most that the board may take, by its own measure: ten ticks a second, and a log to
the second. Slack of 300 ms is a tick, a write of the flash, and rounding. Minutes are those of one
person with a board that has every sensor: reading, hands and feet by our own estimate, the board's
part as the virtual board takes it.
"""
_SIDES = {rules.ABOVE: "above", rules.BELOW: "below"}


def protections_page() -> str:
    """Every protection of the board, a row each."""
    rows = [
        "# Protections",
        "",
        _MADE.format(source="firmware/keeper/rules.py"),
        "A rule trips when its quantity has been past its limit, without a break, for its hold "
        "time; for a reading's quality, a good tick takes back half a tick and does not end the "
        "hold. Limits and holds in `this type` are settings (see [settings](settings.md)). A rule "
        "whose sensor is not fitted is not watched, and the board lists it as unprotected.",
        "",
        "A rule that would only name the symptom of another gives way to it: while the cause is "
        "past its limit, the symptom does not act.",
        "",
        "| rule | trips when | for | watched in | then | tries | cleared by | needs | "
        "gives way to |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for row in rules.RULES:
        name, quantity, side, limit, hold, states, after = row[: rules.ACTION]
        action, tries, then, clear, needs, way = row[rules.ACTION :]
        late = f", {after} ms after it began" if after else ""
        last = f", then {rules.ACTIONS[then]}" if action in (rules.RETRY, rules.SHORTEN) else ""
        cells = [
            f"**{name}**",
            f"{quantity} {_SIDES[side]} {_code(limit)}",
            _code(hold) if hold else "at once",
            ", ".join(states.split()) + late,
            rules.ACTIONS[action] + last,
            _code(tries) if tries else "",
            clear,
            ", ".join(map(_sensors, needs.split())),
            way,
        ]
        rows.append("| " + " | ".join(cells) + " |")
    played = scenarios_of_rules()
    for row in rules.RULES:
        rows += ["", *_paragraph(row[rules.NAME], played.get(row[rules.NAME], []))]
    return "\n".join(rows) + "\n"


def _sensors(need: str) -> str:
    """What must be fitted; of two parted by a stroke either will do.

    >>> _sensors("pressure/flow"), _sensors("second_relay")
    ('pressure or flow', 'second relay')
    """
    return need.lstrip("!").replace("/", " or ").replace("_", " ")


def scenarios_of_rules() -> dict[str, list[str]]:
    """For each rule the scenarios of the tests in which it acts."""
    found: dict[str, list[str]] = {}
    for path in sorted(_SCENARIOS.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        expected = re.search(r"^expect = \[(.*?)\]$", text, re.MULTILINE | re.DOTALL)
        events = re.findall(r'"([^"]*)"', expected[1]) if expected else []
        for event in dict.fromkeys(event.partition(" within ")[0] for event in events):
            kind, _, rule = event.partition(" ")
            if kind == "short":
                rule = "charge reserve"
            if kind in ("trip", "warn", "short") and path.stem not in found.setdefault(rule, []):
                found[rule].append(path.stem)
    return found


def _paragraph(rule: str, scenarios: list[str]) -> list[str]:
    """What a rule means, where to look, and where it is played and proved."""
    told = rule_text.RULES[rule]
    steps = [step.id for step in STEPS if step.rule == rule]
    proved = ", ".join(f"[{step}](proof.md#{step})" for step in steps)
    return [
        f"## {slug(rule)}",
        "",
        f"**{told.short.capitalize()}.** {told.look}",
        "",
        f"- Played in: {', '.join(scenarios)}.",
        f"- Proved by: {proved or NOT_ON_SITE.get(rule, '')}.",
    ]


def states_page() -> str:
    """The states of the board and what moves it between them."""
    rows = [
        "# States",
        "",
        _MADE.format(source="firmware/keeper/cycle.py"),
        "The relay is closed in *prime* and *run*, and open in every other state. A dot: the "
        "state stays as it is.",
        "",
        "Noon ends a stop for the night, and cuts a set that pauses or rests. A run that is "
        "being given at noon is given to its end; then no other run of that set starts. A run by "
        "hand leaves the night as it found it, waiting or stopped, unless a rule stops it for "
        "something that the next set would meet as well.",
        "",
        "| when this happens | " + " | ".join(cycle.STATES) + " |",
        "|---|" + "---|" * len(cycle.STATES),
    ]
    rows += [f"| **{event}** | " + " | ".join(cells) + " |" for event, cells in cycle.TABLE]
    rows += [
        "",
        "## The lamp",
        "",
        "Short flashes are counted, from ten metres if need be: they come in groups, with a dark "
        "time between the groups. In bold, seconds lit; the others dark; then it begins again, in "
        "a nap of the board as well. A short press of the button is under three seconds. "
        "`rillkeeper card` makes a sheet of it for the box at the plot.",
        "",
        *lamp_table(),
    ]
    return "\n".join(rows) + "\n"


def facts_page() -> str:
    """What the board knows from one run to the next, and what ends it."""
    rows = [
        "# What the board remembers",
        "",
        _MADE.format(source="firmware/keeper/facts.py"),
        "Each of these the board knows from one run to the next. *Power*: it outlives a power "
        "loss, as the board last saved it. *Settings*: it outlives new settings, and the "
        "beginning and end of a trial. It is let go at *noon*; when a *battery* is put on, or "
        "charged in its place; when a *person* clears (`rillkeeper clear`, or the button held for "
        "three seconds); "
        "when the *clock* is set; when the *line* is another: new settings change "
        + ", ".join(f"`{key}`" for key in facts.LINE_KEYS)
        + ", or a person says so (`rillkeeper relearn`). What neither outlives begins again.",
        "",
        "A lockout, a flat battery and a stop for the night outlive power loss and new settings "
        "too: see [states](states.md).",
        "",
        "| fact | unit | one for | power | settings | ended by | begins as | what it is |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for row in facts.FACTS:
        name, each, power, over_settings, ended_by, start, _shown, unit = row
        cells = [
            f"`{name}`",
            unit,
            f"each {each}" if each else "",
            power,
            over_settings,
            ", ".join(ended_by.split()),
            _code(start),
            row_words.of_fact(row),
        ]
        rows.append("| " + " | ".join(cells) + " |")
    return "\n".join(rows) + "\n"


def settings_page() -> str:
    """Every setting of the board."""
    rows = [
        "# Settings",
        "",
        _MADE.format(source="firmware/keeper/settings.py"),
        "A setting without a default must be given: `rillkeeper` derives it from the site file.",
        "",
        "| setting | unit | least | most | default | what it is |",
        "|---|---|---|---|---|---|",
    ]
    for row in settings.SCHEMA:
        key, unit, low, high, default = row
        shown = "must be given" if default is None else str(default)
        words = row_words.of_setting(row)
        rows.append(f"| `{key}` | {unit} | {low} | {high} | {shown} | {words} |")
    rows += ["", "## What must agree", ""]
    for pair in settings.ORDER:
        rows.append(f"- `{pair[0]}` below `{pair[1]}`: {row_words.of_order(pair)}.")
    return "\n".join(rows) + "\n"


def proof_page() -> str:
    """Every step of the proof, in its order."""
    made = _MADE.format(source="host/rillkeeper/board/proof/steps.py")
    parts = ["# Steps of the proof", "", made, _INTRO]
    for one in ROUNDS:
        steps = [step for step in STEPS if step.round == one.name]
        about = minutes(steps_of(one.name, TYPICAL), TYPICAL)
        parts += [
            f"## {one.name.capitalize()}",
            "",
            f"{one.when.capitalize()}; about {about} min.",
        ]
        parts += ["", one.what, ""]
        for step in steps:
            parts += _step(step)
    parts += ["## Not to be met on site", ""]
    if not NOT_ON_SITE:
        parts += ["Nothing: every rule of the board has its step.", ""]
    reasons = NOT_ON_SITE | NOT_WITHOUT_LOAD_SENSE | NOT_BY_BATTERY_ALONE
    parts += [f"- **{rule}**: {reason}" for rule, reason in reasons.items()]
    return "\n".join(parts).rstrip("\n") + "\n"


def _step(step: Step) -> list[str]:
    where = f"{step.title}; {step.place}, about {step_s(step, TYPICAL):.0f} s. {_proves(step)}"
    rows = [f"### {step.id}", "", where.strip(), ""]
    if step.caution:
        rows.append(f"- **Caution:** {step.caution}")
    rows.append(f"- First: {step.before}")
    if step.trial:
        rows.append("- Trial: " + ", ".join(f"`{line}`" for line in step.trial) + ".")
    if step.way in (START, HALT):
        rows.append("- The pump is started by hand.")
    if step.during:
        rows.append(f"- While it runs: {step.during}")
    rows.append(f"- Must happen: {step.happens}.")
    if step.within:
        rows.append(f"- Within {_sum(step)}; measured: {TIMED_WORDS[step.timed]}.")
    if step.ask:
        rows.append(f"- You are asked: {step.ask}")
    if step.after:
        rows.append(f"- After: {step.after}")
    rows.append(f"- If it fails, look at: {LOOK_AT[step.id]}")
    return [*rows, ""]


def _proves(step: Step) -> str:
    words = (step.needs + " " + rule_needs(step.rule)).split()
    needs = [_sensors(word) for word in words if not word.startswith("!")]
    bare = [_sensors(word) for word in words if word.startswith("!")]
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


def shopping_page() -> str:
    """What to buy for the demonstration site."""
    work = WorkingSite(demo_site())
    rows = [
        "# Shopping list",
        "",
        _MADE.format(source="host/rillkeeper/design/size/shopping.py"),
        "For the demonstration site: what `rillkeeper size` prints for yours. Ratings are the "
        "least; more is never wrong, save for the fuses. Small parts of the board stand on the "
        "page [parts](parts.md).",
        "",
        "| part | rating | how many | spares | kg |",
        "|---|---|---|---|---|",
    ]
    for item in shopping_of(work, wires_of(work)).items:
        kg = "" if item.mass_kg is None else f"{item.mass_kg:.1f}"
        cells = (item.part, item.rating, str(item.quantity), str(item.spares or ""), kg)
        rows.append("| " + " | ".join(cells) + " |")
    return "\n".join(rows) + "\n"


PAGES: dict[str, Callable[[], str]] = {
    "protections.md": protections_page,
    "states.md": states_page,
    "facts.md": facts_page,
    "settings.md": settings_page,
    "proof.md": proof_page,
    "shopping.md": shopping_page,
}


def write(folder: Path) -> None:
    """Write every page into a folder."""
    for name, page in PAGES.items():
        (folder / name).write_text(page(), encoding="utf-8")


def slug(rule: str) -> str:
    """The id of a rule in links.

    >>> slug("dead head")
    'dead-head'
    """
    return rule.replace(" ", "-")


def _code(value: str | int) -> str:
    return f"`{value}`" if isinstance(value, str) else str(value)


if __name__ == "__main__":
    write(Path(sys.argv[1]))
