"""What must outlive a power loss: the battery is carried home every few nights.

``save`` gives a text of a line each, ``name value``, of the state and of every fact (facts.py)
that is kept over power loss and is not as it began; ``load`` puts it into a new Keeper. A
lockout, a flat battery, the tries of tonight and what tonight's sets have been given are in it,
so that pulling the battery clears nothing and waters nothing twice.

States, facts and rules are called by their names: a firmware with other rows reads what it knows
and leaves the rest. A state that it does not know is taken for a lockout.
"""

from .cycle import CHECK, DONE, FLAT, IDLE, LOCKOUT, STATES, UNSET
from .facts import COUNTS, EACH, FACTS, NAME, POWER, START
from .plan import HAND
from .rules import NAME as RULE_NAME
from .rules import RULES

_KEPT_STATES = (DONE, FLAT, LOCKOUT)
_ADDED_BEFORE = ("starts", "run_open")
"""Kept before the relay closes: a pump that pulls the supply down resets the board at once, and
each of those starts must count. What a trip says may be lost with the power in the same moment;
that the run was open is known then."""


class Unreadable(ValueError):
    """A text that says nothing of the state: what was remembered may have been a lockout."""


def save(keeper) -> str:
    """The text to be kept. Allocates: not for the tick in which a rule may trip.

    Empty for a keeper without settings, which has done nothing: what was kept before stays true.
    """
    if keeper.state == UNSET:
        return ""
    state = keeper.state
    if state not in _KEPT_STATES:
        # A run by hand in a night that was stopped: without it the stop stands.
        state = DONE if keeper.plan.current == HAND and keeper.facts.night_over else IDLE
    lines = ["state " + STATES[state], "seq " + str(keeper.journal.seq)]
    facts = keeper.facts
    for row in FACTS:
        if row[POWER] != "kept":
            continue
        name = row[NAME]
        value = getattr(facts, name)
        if name in _ADDED_BEFORE and keeper.state == CHECK:
            value += 1
        if row[EACH] == "rule":
            for rule, number in enumerate(value):
                if number != row[START]:
                    lines.append(name + " " + _word(rule) + " " + str(number))
        elif row[EACH]:
            if value != [row[START]] * COUNTS[row[EACH]]:
                lines.append(name + " " + " ".join([str(number) for number in value]))
        elif value != row[START]:
            lines.append(name + " " + str(value))
    return "\n".join(lines)


def load(keeper, text: str) -> None:
    """Put a saved text into a Keeper that has not stepped yet.

    Raises Unreadable, with the Keeper as it was, for a text that is no such one. A Keeper without
    settings takes any text and stays as it is.
    """
    if keeper.state == UNSET:
        return
    kept = _words(text)
    state = kept.pop("state", None)
    if state is None:
        raise Unreadable("nothing that was saved by a board")
    keeper.journal.seq = kept.pop("seq", [0])[0]
    keeper.state = _state(state)
    facts = keeper.facts
    for row in FACTS:
        name = row[NAME]
        if row[POWER] != "kept":
            continue
        if row[EACH] == "rule":
            values = getattr(facts, name)
            for rule in range(len(RULES)):
                values[rule] = kept.get(name + " " + _word(rule), [values[rule]])[0]
        elif name in kept:
            facts.put(row, kept[name] if row[EACH] else kept[name][0])
    keeper.relaywatch.remember()


def _word(rule: int) -> str:
    """The name of a rule as one word."""
    return RULES[rule][RULE_NAME].replace(" ", "_")


def _state(name: str) -> int:
    for state in _KEPT_STATES + (IDLE,):
        if STATES[state] == name:
            return state
    return LOCKOUT


def _words(text: str) -> dict:
    """What a text says: name, or name and rule, to its numbers. "state" to its name."""
    kept: dict = {}
    for line in text.split("\n"):
        name, _, rest = line.partition(" ")
        words = rest.split(" ")
        if name == "state":
            kept[name] = rest
            continue
        if words[0] and not _is_number(words[0]):
            name = name + " " + words.pop(0)
        if words and all(_is_number(word) for word in words):
            kept[name] = [int(word) for word in words]
    return kept


def _is_number(word: str) -> bool:
    """Whether a word is a whole number."""
    return word[1:].isdigit() if word[:1] == "-" else word.isdigit()
