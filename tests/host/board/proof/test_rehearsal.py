"""The proof at a desk: every step has its hands, and a whole round is walked with them alone."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from rillkeeper.board.proof import rehearsal
from rillkeeper.board.proof.rehearsal import LOOK, REHEARSED, hands_for, hands_to_answer, lacking
from rillkeeper.board.proof.step import BENCH, BY_ITSELF
from rillkeeper.board.proof.steps import BY_ID, STEPS
from rillkeeper.board.proof.supply_steps import IN_RESET, NO_POWER
from rillkeeper.board.virtual.hand_table import BY_NAME
from tests.host.board.proof.rehearsed import SPEED, rehearse

EVERYTHING = set(BY_NAME)


def test_every_step_that_a_person_walks_has_its_hands() -> None:
    assert set(REHEARSED) == {step.id for step in STEPS if step.round != BY_ITSELF}


def test_hands_are_those_of_the_table() -> None:
    """Each word is one that `rillkeeper hand` takes."""
    said = [words for row in REHEARSED.values() for words in vars(row).values()]
    said += [rehearsal.BY_ITSELF, *rehearsal._TOLD.values()]
    for words in said:
        for one in words.split("|"):
            pairs = one.split()
            assert len(pairs) % 2 == 0, one
            for what, how in zip(pairs[::2], pairs[1::2], strict=True):
                known = how.isdigit() if what == "wait" else how in BY_NAME[what].words
                assert known, f"{what} {how}"


def test_what_is_pulled_is_put_back() -> None:
    """After each step nothing is left as no site was built, but what the next one needs."""
    left = {"dry-run": {"strainer"}, "no-prime": set(), "weak-supply": set()}
    for step in STEPS:
        if step.round == BY_ITSELF:
            continue
        now: dict[str, str] = {}
        for text in (step.before, step.during, step.after):
            pairs = (hands_for(step, text, EVERYTHING) if text else "").split()
            now |= dict(zip(pairs[::2], pairs[1::2], strict=True))
        now.pop("wait", None)
        now.pop("pump-plug", None)
        off = {what for what, how in now.items() if how != next(iter(BY_NAME[what].words))}
        assert off == left.get(step.id, set()), step.id


def test_the_pump_is_out_on_the_bench_and_in_at_the_water() -> None:
    for step in STEPS:
        if step.round != BY_ITSELF:
            words = hands_for(step, step.before, EVERYTHING).split()
            place = words[words.index("pump-plug") + 1]
            assert place == ("out" if step.place == BENCH else "in"), step.id


def test_a_board_without_a_clock_chip_forgets_without_power() -> None:
    step = BY_ID["no-clock"]
    assert hands_for(step, step.before, EVERYTHING) == "pump-plug out clock-plug out"
    bare = EVERYTHING - {"clock-plug"}
    assert hands_for(step, step.before, bare).endswith("power out wait 10 power in")
    assert hands_for(step, step.after, bare) == ""


def test_what_is_told_in_turn_and_what_is_asked() -> None:
    step = BY_ID["stays-dead"]
    assert hands_for(step, NO_POWER, EVERYTHING) == "power out wait 10 power in"
    assert hands_for(step, IN_RESET, EVERYTHING) == "reset press"
    assert hands_to_answer(step.ask) == LOOK
    assert hands_to_answer("Try this step again?") == ""
    assert hands_to_answer("30 mV off. Did it? Then write a 1 -> 2?") == ""


def test_a_part_that_is_not_there_is_named() -> None:
    step = BY_ID["pressure-switch"]
    assert lacking(step, EVERYTHING) == "pressure switch"
    assert lacking(step, {*EVERYTHING, "pressure-switch"}) == ""
    assert lacking(replace(step, id="dead-head"), EVERYTHING) == ""


@pytest.mark.interpreter
@pytest.mark.slow
@pytest.mark.xdist_group("virtual board")
def test_a_season_is_rehearsed_whole(need: Callable[[str], Path], tmp_path: Path) -> None:
    """By one who has the commands and nothing else; `make campaign` walks the other rounds too.

    The demonstration site has no pressure switch: that step says so, and is left out.
    """
    need("micropython")
    walked = rehearse(tmp_path, "season", SPEED)
    assert walked.status == 0, walked.told
    assert "season: proved, but for 1 step" in walked.told, walked.told
    assert "\nfailed" not in walked.told, walked.told
    met = [step for step in STEPS if f"[{step.id}]" in walked.told]
    assert [step.id for step in met if step.id in REHEARSED] == [step.id for step in met]
    for step in met:
        during = REHEARSED[step.id].during
        assert not during or during in walked.done or step.id == "pressure-switch", step.id
    assert "power out wait 10 power in" in walked.done
    assert "reset press" in walked.done
