"""A value that a rule has judged, in the terms of what it is."""

from keeper.clockwatch import VERDICTS
from keeper.rules import QUANTITY, RULES
from keeper.sense import QUALITIES
from keeper.standstill import KINDS
from rillkeeper.display_units import Shown, duration_text
from rillkeeper.runlog import rule_text

_SUFFIXES = (
    ("_pa", "pressure", 1.0),
    ("_mv", "voltage", 1e-3),
    ("_ma", "current", 1e-3),
    ("_mohm", "resistance", 1e-3),
)


def quantity_text(rule: int, value: int, shown: Shown) -> str:
    """A value in the terms of what its rule judges.

    >>> quantity_text(1, 190_000, Shown("us"))
    '27.6 psi'
    """
    name = RULES[rule][QUANTITY] if 0 <= rule < len(RULES) else ""
    if name == "clock_bad":
        return rule_text.word_of(VERDICTS, rule_text.VERDICT_WORDS, value)
    if name == "closed_off":
        return rule_text.word_of(KINDS, rule_text.CLOSED_WORDS, value)
    if name == "stuck_relay" and 0 <= value < len(rule_text.STUCK_WORDS):
        return rule_text.STUCK_WORDS[value]
    if name == "spare_mah":
        return shown.text(abs(value) * 3.6, "charge")
    if name.endswith("_bad"):
        return rule_text.word_of(QUALITIES, rule_text.QUALITY_WORDS, value)
    if name.endswith("_permille"):
        return f"{value / 10:.0f} %"
    if name == "frost_dc":
        return shown.text(value / 10, "temperature")
    for suffix, dimension, factor in _SUFFIXES:
        if name.endswith(suffix):
            return shown.text(value * factor, dimension)
    if name.endswith(("_ms", "_s")):
        return duration_text(value / 1000 if name.endswith("_ms") else value)
    return str(value)
