"""Every rule, cause, state, command and record of the board has its words."""

import re
import string

import pytest

from keeper import rules
from keeper.records import CAUSE_RULE, KINDS
from keeper.rules import ACTIONS, NAME, RULES
from keeper.standstill import KINDS as KINDS_OF_CLOSED
from rillkeeper.display_units import Shown
from rillkeeper.inquiry.why.causes import CAUSES
from rillkeeper.runlog import rule_text, rule_variants, sentences
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.quantity_text import quantity_text

RULE_NAMES = [row[NAME] for row in RULES]


def entry(kind: str, **numbers: int) -> Entry:
    names = dict(KINDS)[kind]
    return Entry(
        1, 20600, 80000, True, kind, {name: numbers.get(name, 0) for name in names}, 20600
    )


def test_every_rule_has_words_and_no_more() -> None:
    assert list(rule_text.RULES) == RULE_NAMES
    assert set(rule_variants.WARN_SEEN) <= set(RULE_NAMES)


@pytest.mark.parametrize(
    ("names", "table"), rule_text.BOARD_LISTS, ids=lambda part: str(len(part))
)
def test_every_list_of_the_board_has_words(names: tuple[str, ...], table: dict[str, str]) -> None:
    assert list(table) == list(names)
    assert all(table.values())


def test_every_kind_is_told() -> None:
    assert list(sentences.TELLERS) == [kind for kind, _ in KINDS]


@pytest.mark.parametrize("kind", [kind for kind, _ in KINDS])
@pytest.mark.parametrize("value", [0, 1, 2, 3, 60, 999])
def test_a_record_of_any_numbers_is_a_sentence(kind: str, value: int) -> None:
    """Also numbers that a later board may write and this tool does not know."""
    names = dict(KINDS)[kind]
    told = sentences.tell(entry(kind, **dict.fromkeys(names, value)), Shown())
    assert told.seen.endswith(".")
    assert told.seen[0].isupper() or told.seen[0].isdigit()
    assert "{" not in told.seen + told.did + told.look


@pytest.mark.parametrize("rule", range(len(RULES)), ids=RULE_NAMES)
@pytest.mark.parametrize("system", ["metric", "us"])
def test_a_trip_says_value_limit_time_action_and_what_to_look_at(rule: int, system: str) -> None:
    shown = Shown(system)
    row = rule_text.RULES[RULE_NAMES[rule]]
    trip = entry("trip", rule=rule, value=3, limit=2, held_ms=700, action=rules.NIGHT)
    told = sentences.tell(trip, shown)
    for field in [name for _, name, _, _ in string.Formatter().parse(row.seen) if name]:
        number = {"value": 3, "limit": 2}[field]
        assert quantity_text(rule, number, shown) in told.seen
    assert told.seen.endswith(", for 0.7 s.")
    assert told.did == rule_text.ACTION_WORDS["night"]
    assert told.look.endswith(".")
    assert sentences.cause_text(CAUSE_RULE + rule) == told.short


def test_a_pump_that_works_unasked_is_told_for_what_it_is() -> None:
    rule = RULE_NAMES.index("relay closed")
    told = [
        sentences.tell(
            entry("trip", rule=rule, value=kind, limit=0, held_ms=1000, action=rules.LOCK), Shown()
        )
        for kind in range(1, len(KINDS_OF_CLOSED))
    ]
    assert ["welded" in one.seen for one in told] == [True, False, False, False]
    assert ["active-low" in one.seen for one in told] == [False, False, True, True]
    assert all("board cannot stop" in one.did for one in told)
    assert len({one.seen for one in told}) == len(told)


def test_values_carry_the_unit_of_what_the_rule_judges() -> None:
    dead_head = RULE_NAMES.index("dead head")
    assert quantity_text(dead_head, 190_000, Shown()) == "1.90 bar"
    assert quantity_text(dead_head, 190_000, Shown("us")) == "27.6 psi"
    assert quantity_text(RULE_NAMES.index("frost"), 20, Shown()) == "2.0 C"
    assert quantity_text(RULE_NAMES.index("frost"), 20, Shown("us")) == "36 F"
    assert quantity_text(RULE_NAMES.index("line open"), 550, Shown()) == "55 %"
    assert quantity_text(RULE_NAMES.index("weak supply"), 68, Shown()) == "68 mohm"
    assert quantity_text(RULE_NAMES.index("charge reserve"), -3500, Shown()) == "3.5 Ah"
    assert quantity_text(RULE_NAMES.index("over-run"), 3300, Shown()) == "55 min"


@pytest.mark.parametrize("action", range(len(ACTIONS)), ids=ACTIONS)
def test_a_stop_is_told_apart_from_a_retry(action: int) -> None:
    told = sentences.tell(entry("trip", rule=1, action=action, tries=1), Shown())
    goes_on = action in (rules.RETRY, rules.END_RUN)
    expected = sentences.WARNING if goes_on else sentences.STOP
    assert told.level == expected


def test_frost_is_no_trouble() -> None:
    trip = entry("trip", rule=RULE_NAMES.index("frost"), action=rules.REFUSE)
    assert sentences.tell(trip, Shown()).level == sentences.NOTE


def test_a_warning_says_what_the_table_of_rules_does() -> None:
    told = sentences.tell(entry("warn", rule=RULE_NAMES.index("no clock"), value=2), Shown())
    assert "went back" in told.seen
    assert "button" in told.did


def test_nobody_is_sent_to_a_clamp_or_a_pump_without_the_hand_switch() -> None:
    """W6 of the review: a clamp that is moved under load makes the spark of every warning."""
    texts = [row.look for row in rule_text.RULES.values()]
    texts += [rule_text.BROKEN_RUN_LOOK, *(cause.look for cause in CAUSES)]
    handled = [
        text
        for text in texts
        if re.search(r"(?i)battery clamps|both clamps|the clamps|by hand: grit|pump's head", text)
        and "feel the clamps" not in text
    ]
    assert len(handled) >= 8
    for text in handled:
        assert "hand switch off" in text.lower(), text


def test_nobody_claims_a_flow_meter_that_no_one_has_told_of() -> None:
    """A board that cannot say what it has: its litres are told as they were before."""
    given = entry("given", set=1, run_s=1200, given_ml=340_000, depth_um=3000)
    assert sentences.tell(given, Shown()).seen == "Set 1 gave 340 L (about 3.0 mm) in 20 min."
    metered = sentences.tell(given, Shown(), Fitted.of_settings({"flow_fitted": 1})).seen
    assert metered == "Set 1 gave 340 L by the flow meter (about 3.0 mm) in 20 min."
