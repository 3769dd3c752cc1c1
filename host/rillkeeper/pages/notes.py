"""The pages of the notes that are made from the board's own tables.

    python -m rillkeeper.pages.notes hardware_notes

writes ``protections.md``, ``states.md``, ``settings.md`` and ``proof.md``; a test holds the
committed pages to the tables.
"""

import re
import sys
from collections.abc import Callable
from pathlib import Path

from keeper import cycle, rules, settings
from rillkeeper.board.proof.steps import NOT_ON_SITE, STEPS
from rillkeeper.pages.proof_steps import slug, steps_page
from rillkeeper.runlog import rule_text

_MADE = "This page is made from `{source}`; change it there and run `make notes`.\n"
_SCENARIOS = Path(__file__).parents[3] / "tests" / "scenarios"
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
        "| rule | trips when | for | watched in | then | tries | cleared by | needs |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for row in rules.RULES:
        name, quantity, side, limit, hold, states, after, action, tries, then, clear, needs = row
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
            ", ".join(needs.split()).replace("_", " "),
        ]
        rows.append("| " + " | ".join(cells) + " |")
    played = scenarios_of_rules()
    for row in rules.RULES:
        rows += ["", *_paragraph(row[rules.NAME], played.get(row[rules.NAME], []))]
    return "\n".join(rows) + "\n"


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
        "| when this happens | " + " | ".join(cycle.STATES) + " |",
        "|---|" + "---|" * len(cycle.STATES),
    ]
    rows += [f"| **{event}** | " + " | ".join(cells) + " |" for event, cells in cycle.TABLE]
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
    for key, unit, low, high, default, sentence in settings.SCHEMA:
        shown = "must be given" if default is None else str(default)
        rows.append(f"| `{key}` | {unit} | {low} | {high} | {shown} | {sentence} |")
    rows += ["", "## What must agree", ""]
    rows += [f"- `{smaller}` below `{larger}`: {why}." for smaller, larger, why in settings.ORDER]
    return "\n".join(rows) + "\n"


def proof_page() -> str:
    """Every step of the proof."""
    return steps_page(_MADE.format(source="host/rillkeeper/board/proof/steps.py"))


PAGES: dict[str, Callable[[], str]] = {
    "protections.md": protections_page,
    "states.md": states_page,
    "settings.md": settings_page,
    "proof.md": proof_page,
}


def write(folder: Path) -> None:
    """Write every page into a folder."""
    for name, page in PAGES.items():
        (folder / name).write_text(page(), encoding="utf-8")


def _code(value: str | int) -> str:
    return f"`{value}`" if isinstance(value, str) else str(value)


if __name__ == "__main__":
    write(Path(sys.argv[1]))
