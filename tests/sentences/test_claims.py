"""No sentence claims what no sensor of its board has measured; nor do table, status or verdict."""

import re

import pytest

from rillkeeper.display_units import Shown
from rillkeeper.runlog.fitted import Fitted
from tests.sentences.__main__ import text
from tests.sentences.rendered import EVERYTHING, fitting_name, fittings, has, rendered, status_text

FITTINGS = tuple(fittings())
BY_NAME = pytest.mark.parametrize("fitted", FITTINGS, ids=fitting_name)

CLAIMS = {
    "pressure": r"\d (bar|psi|kPa)\b|pressure (came|at \d|rose again)",
    "flow": r"flow meter",
    "pressure/flow": r"\d (L|gal)/min|has drawn water|gave no water",
    "battery": r"\d V\b|\d mohm|\bthe voltage fell|battery did not feel|battery's voltage",
    "load_sense": r"wire (stayed|was|is) (dead|live)|the contact changed",
    "frost": r"\d C\b|\d F\b",
    "rain": r"\b[Rr]ains?\b",
    "second_relay": r"[Tt]he other relay|two relays|the second one does not open",
    "clock_chip": r"change its cell",
    "current": r"\d A into the pump|the current reading",
}
"""What a sentence says only where that sensor has told it."""


def missing(fitted: Fitted, said: str) -> list[str]:
    """Sensors that are not there, and of which a text speaks as if they were."""
    return [
        name for name, claim in CLAIMS.items() if not has(fitted, name) and re.search(claim, said)
    ]


@BY_NAME
@pytest.mark.parametrize("system", ["metric", "us"])
def test_no_record_claims_what_was_not_measured(fitted: Fitted, system: str) -> None:
    wrong = [
        (one.where, names, one.told.seen)
        for one in rendered(fitted, Shown(system))
        if (names := missing(fitted, f"{one.told.seen} {one.told.did} {one.told.look}"))
    ]
    assert not wrong


@BY_NAME
@pytest.mark.parametrize("load_on", [0, 1])
@pytest.mark.parametrize("relay", [0, 1])
def test_status_tells_only_what_is_fitted(fitted: Fitted, load_on: int, relay: int) -> None:
    said = status_text(fitted, load_on, relay)
    assert not missing(fitted, said)
    assert ("rain contact" in said) == fitted.rain
    assert ("12.15 V" in said) == fitted.battery
    assert ("1.45 bar" in said) == fitted.pressure
    assert ("pump's wire is" in said) == (fitted.load_sense and load_on != relay)


@pytest.mark.parametrize("name", list(CLAIMS))
def test_the_claims_are_those_that_the_sentences_make(name: str) -> None:
    """Each pattern is met where the sensor is there: one that nothing says would guard nothing."""
    told = [
        f"{one.told.seen} {one.told.did} {one.told.look}" for one in rendered(EVERYTHING, Shown())
    ]
    assert any(re.search(CLAIMS[name], seen) for seen in told)


@BY_NAME
def test_every_sentence_is_one(fitted: Fitted) -> None:
    for one in rendered(fitted, Shown()):
        for said in (one.told.seen, one.told.did, one.told.look):
            assert not said or said[-1] in ".?", (one.where, said)
            assert "  " not in said, (one.where, said)
            assert "{" not in said, (one.where, said)
        assert not one.told.seen or not one.told.seen[0].islower(), one


JARGON = (
    "transducer", "made good", "to be believed", "alike", "are left", "reckoned", "hysteresis",
    "quiescent",
)  # fmt: skip
"""Words over which a reader of the first list stumbled."""


@pytest.mark.parametrize("word", JARGON)
def test_no_record_speaks_in_jargon(word: str) -> None:
    for fitted in (EVERYTHING, Fitted(pressure=False, load_sense=False)):
        for one in rendered(fitted, Shown()):
            assert word not in f"{one.told.seen} {one.told.did} {one.told.look}", one


def test_the_list_of_all_sentences_can_be_made() -> None:
    made = text()
    assert "Walk along the hose" in made
    assert "host/rillkeeper/commands/week.py" in made
