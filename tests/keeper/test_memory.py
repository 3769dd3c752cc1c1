"""What outlives a power loss."""

import pytest

from keeper import Keeper, Settings, lines, memory
from keeper.cycle import STATES
from keeper.facts import COUNTS
from keeper.records import BATTERY, BOOT
from keeper.rules import DRY_RUN

from .bench import DAY0, SITE, Bench

KEPT = ("done", "flat", "lockout")


@pytest.mark.parametrize("state", STATES[1:])
def test_saved_and_loaded_in_every_state(state: str) -> None:
    bench = Bench()
    bench.go(state)
    text = memory.save(bench.keeper)
    again = Keeper(bench.settings)
    memory.load(again, text)
    # The start that is being checked counts from now on.
    assert memory.save(again) == text
    assert STATES[again.state] == (state if state in KEPT else "idle")
    assert again.step(0, 0, 0, 0, 2520, 410, 0, 0, 700, 0) == 0


def test_what_is_kept() -> None:
    bench = Bench()
    bench.go("run")
    bench.ticks(70000)
    old = bench.keeper
    bench.reboot()
    new = bench.keeper
    for name in ("night_run_s", "night_ml"):
        assert getattr(new.facts, name) == getattr(old.facts, name)
    assert new.facts.used_mah == old.facts.used_mah > 0
    assert new.facts.starts == 1
    assert new.facts.heat_ms == old.facts.heat_ms > 70000
    assert new.facts.base_pa == old.facts.base_pa > 0
    assert new.facts.given_s == old.facts.given_s


def test_starts_before_the_cut_count_for_an_hour_after_it() -> None:
    bench = Bench(starts_max=3)
    for _ in range(3):
        bench.go("done")
        bench.reboot()
    bench.go("check")
    bench.until("done")
    assert bench.said("too many starts")


def test_charge_is_not_refilled_by_the_same_battery() -> None:
    bench = Bench()
    bench.rest_mv = 12400
    bench.keeper.facts.left_mah = 20000
    bench.reboot()
    assert bench.keeper.facts.left_mah == 20000
    assert len(bench.records(BATTERY)) == 1, "that of the first look: a restart is no battery"


def test_sequence_goes_on() -> None:
    bench = Bench()
    bench.ticks(1000)
    last = bench.log[-1][0]
    bench.reboot()
    assert [row[0] for row in bench.log if row[4] == BOOT][-1] == last + 1


@pytest.mark.parametrize(
    "text", ["", "99 99 99", "1 9" + 60 * " 0", "1 9 x" + 20 * " 0", "night 20635"]
)
def test_a_text_that_says_no_state_is_refused(text: str) -> None:
    keeper = Keeper(Settings(SITE))
    before = memory.save(keeper)
    with pytest.raises(memory.Unreadable):
        memory.load(keeper, text)
    assert memory.save(keeper) == before


def test_a_smaller_battery_is_not_overfull() -> None:
    row = memory.save(Keeper(Settings(SITE)))
    small = Keeper(Settings({**SITE, "capacity_mah": 20000}))
    memory.load(small, row)
    assert small.facts.left_mah == 20000


def test_a_board_without_settings_does_nothing_and_never_raises() -> None:
    keeper = Keeper(None)
    memory.load(keeper, memory.save(Keeper(Settings(SITE))))
    keeper.command(2, 0)
    assert keeper.step(0, 0, 0, 1, 2500, 410, 1, 3, 700, 0) == 0
    assert keeper.state == 0
    assert keeper.locked()
    assert keeper.journal.waiting == 0


def test_a_board_without_settings_keeps_nothing() -> None:
    assert memory.save(Keeper(None)) == ""
    memory.load(Keeper(None), memory.save(Keeper(None)))


def test_changes_worth_keeping_are_counted() -> None:
    bench = Bench()
    before = bench.keeper.changed
    bench.go("lockout")
    assert bench.keeper.changed > before


def test_records_are_lines_and_back() -> None:
    bench = Bench()
    bench.go("lockout")
    for row in bench.log:
        assert lines.parse_line(lines.format_line(row)) == row


# Memory by name (K24).


def test_a_firmware_with_more_or_less_rows_reads_what_it_knows() -> None:
    bench = Bench()
    bench.go("lockout")
    bench.keeper.facts.tries[DRY_RUN] = 2
    lines = memory.save(bench.keeper).split("\n")
    newer = [*lines, "future_fact 7", "tries no_such_rule 2", "given_s 1 2 3 4 5 6", "odd x y", ""]
    older = [line for line in lines if not line.startswith(("heat_ms", "left_mah"))]
    for text, heat_ms in ((newer, bench.keeper.facts.heat_ms), (older, 0)):
        keeper = Keeper(bench.settings)
        memory.load(keeper, "\n".join(text))
        assert keeper.locked()
        assert keeper.facts.tries[DRY_RUN] == 2
        assert keeper.facts.heat_ms == heat_ms
        assert keeper.facts.night == DAY0
        assert len(keeper.facts.given_s) == COUNTS["set"]


def test_a_rule_more_moves_no_other_rules_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    bench.keeper.facts.tries[DRY_RUN] = 2
    text = memory.save(bench.keeper)
    shifted = (("new rule", *memory.RULES[0][1:]), *memory.RULES[:-1])
    monkeypatch.setattr(memory, "RULES", shifted)
    keeper = Keeper(bench.settings)
    memory.load(keeper, text)
    assert keeper.facts.tries.index(2) == DRY_RUN + 1


@pytest.mark.parametrize(
    ("word", "state"), [("idle", "idle"), ("flat", "flat"), ("run", "lockout"), ("x", "lockout")]
)
def test_a_state_that_is_not_known_is_a_lockout(word: str, state: str) -> None:
    keeper = Keeper(Settings(SITE))
    memory.load(keeper, "state " + word)
    assert memory.STATES[keeper.state] == state
