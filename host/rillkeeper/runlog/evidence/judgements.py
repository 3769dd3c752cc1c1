"""Rules and causes of the board's records by their names."""

from keeper.records import CAUSE_RULE, CAUSES
from keeper.rules import ACTIONS, NAME, RULES
from rillkeeper.runlog.evidence.records import Judgement
from rillkeeper.runlog.lines import Entry


def judgement_of(entry: Entry) -> Judgement:
    """A trip or a warning in names."""
    action = entry.numbers.get("action", 0)
    word = ACTIONS[action] if 0 <= action < len(ACTIONS) else f"action {action}"
    return Judgement(rule_text(entry["rule"]), entry["value"], entry["limit"], word)


def rule_text(rule: int) -> str:
    """The name of a rule; a later board may have more."""
    return RULES[rule][NAME] if 0 <= rule < len(RULES) else f"rule {rule}"


def cause_text(cause: int) -> str:
    """The name of a cause: of the board's list, or of the rule behind it.

    >>> cause_text(0), cause_text(17), cause_text(999)
    ('complete', 'dead head', 'rule 983')
    """
    if 0 <= cause < len(CAUSES):
        return CAUSES[cause]
    return rule_text(cause - CAUSE_RULE)
