"""One answer of a verdict."""

from dataclasses import dataclass

GOOD, LOOK, ACT = "good", "look", "act"


@dataclass(frozen=True)
class Answer:
    """One question about the site."""

    key: str
    question: str
    state: str
    """"good", "look" (works, with a but) or "act" (does not do what it should)."""
    short: str
    sentence: str
    change: str = ""
    """What to change; empty where nothing needs it."""
