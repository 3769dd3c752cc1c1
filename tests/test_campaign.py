"""The campaign keeps what it did, goes on from there, judges, and fails where it should."""

import json
import re
from dataclasses import replace
from itertools import islice
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import settings

from keeper import plausible
from keeper.settings import problems
from keeper.standstill import KINDS
from rillsim.faults.catalogue import CATALOGUE
from rillsim.site import FaultSpec
from tests import effort
from tests.campaign import __main__ as campaign
from tests.campaign import mutants, pairs, phases, swap, verdicts, wild_settings
from tests.campaign.kept import Kept, tree_of
from tests.campaign.mutate import mutants_of
from tests.campaign.night import run_night
from tests.campaign.part import Case, Outcome, Part, beyond_chance, of_seeds
from tests.campaign.right_words import FOLLOWS, WORDS
from tests.scenarios.events import EVENTS

SITE = 100
"""A seed of `draw_site`."""


def odd_is_wrong(seed: int) -> Case:
    return Case(2, ["odd"] if seed % 2 else [])


def falls_over(seed: int) -> Case:
    raise ValueError(f"seed {seed}\nand much more")


def stops(seed: int) -> Case:
    if seed == 22:
        raise KeyboardInterrupt
    return Case(1)


SOME = of_seeds("some", odd_is_wrong, made_of=("Makefile",))
BAD = of_seeds("bad", falls_over, made_of=("Makefile",))


@pytest.fixture
def call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """`call(parts, words)`: the command with these parts; its status."""

    def command(parts: tuple[Part, ...], *words: str) -> int:
        monkeypatch.setattr(campaign, "PARTS", parts)
        folder = ["--folder", str(tmp_path / "kept"), "--page", str(tmp_path / "page.html")]
        return campaign.main([*words, "--workers", "1", *folder])

    return command


def test_it_goes_on_where_it_was_stopped(
    call: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    part = of_seeds("some", stops, made_of=("Makefile",))
    assert call((part, SOME), "--seed", "20", "--minutes", "1") == campaign.STOPPED
    assert "stopped; what is done is kept" in capsys.readouterr().out
    mended = of_seeds("some", odd_is_wrong, made_of=("Makefile",))
    assert call((mended,), "--cases", "2") == 1
    told = json.loads((tmp_path / "page.json").read_text())
    assert told["seed"] == 20
    assert list(told["parts"][0]["cells"]) == ["20", "21", "22", "23"]
    assert told["parts"][0]["failures"] == [
        {
            "case": "23",
            "verdict": "failed",
            "told": "odd",
            "again": "make campaign ARGS='--only some --case \"23\"'",
        }
    ]


def test_results_of_another_tree_are_not_mixed_in(tmp_path: Path) -> None:
    kept = Kept(SOME, tmp_path)
    kept.add("1", {"failures": []}, 0.5)
    kept.tree = "another"
    kept.add("2", {"failures": []}, 0.5)
    with kept.path.open("a") as file:
        file.write('{"tree": "cut sho')
    again = Kept(SOME, tmp_path)
    assert list(again.rows) == ["1"]
    assert again.seconds == 0.5


def test_the_mark_of_a_tree_follows_every_byte(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "one.py").write_text("1")
    before = tree_of(["a"], tmp_path)
    assert tree_of(["a"], tmp_path) == before
    (tmp_path / "a" / "one.py").write_text("2")
    assert tree_of(["a"], tmp_path) != before


def test_one_case_is_told_again_whatever_is_kept(
    call: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call((SOME,), "--only", "some", "--case", "3") == 1
    assert "failed: odd\n" in capsys.readouterr().out
    assert call((SOME,), "--only", "some", "--case", "4") == 0


def test_what_falls_over_is_a_failure(call: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert call((BAD,), "--seed", "3", "--cases", "1") == 1
    assert "fell over: 3: ValueError: seed 3\n" in capsys.readouterr().err


@pytest.mark.parametrize(("wrong", "failed"), [(0, False), (4, False), (5, True)])
def test_a_share_of_failures_may_be_allowed(wrong: int, failed: bool) -> None:
    """Of 100 with a chance of 1 % each: more than 4 come once in 291 times (binomial)."""
    assert beyond_chance(wrong, 100, 0.01) is failed


def test_the_table_and_the_status(call: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert call((SOME, BAD), "--only", "some", "--seed", "20", "--cases", "1") == 0
    assert call((SOME, BAD), "--cases", "1") == 1
    said = capsys.readouterr().out
    assert re.search("some  4 +no end  0 +1 good, 1 failed\n", said)
    assert said.endswith("\nfailed: some, bad\n")
    call((SOME,), "--fresh", "--cases", "1")
    call((SOME,), "--cases", "1")
    said = capsys.readouterr().err
    drawn, again = map(int, re.findall("campaign from seed ([0-9]+)", said))
    assert drawn == again >= campaign.SEEDS[0]


def test_every_fault_has_its_right_words() -> None:
    assert list(WORDS) == [fault.name for fault in CATALOGUE]
    known = {event.removeprefix("trip ").removeprefix("warn ") for event in EVENTS}
    known = known - {"relay closed"} | {f"relay closed: {kind}" for kind in KINDS}
    for name, right in WORDS.items():
        pairs_of_words = {word for pair in right.corrected for word in pair}
        assert {*right.words, *right.blind, *pairs_of_words} <= known, name
    assert set(FOLLOWS) <= EVENTS


@pytest.mark.parametrize(
    ("case", "verdict"),
    [
        (f"{SITE}/outlet_shut/mid run", "right"),
        (f"{SITE}/outlet_shut/lockout", "right"),
        (f"{SITE}/flat_battery/rest", "right"),
        (f"{SITE}/flat_battery/mid run", "right"),
        (f"{SITE + 2}/pressure_offset/idle", "silent"),
        (f"{SITE + 5}/relay_inverted/mid run", "right"),
        (f"{SITE}/source_falling/last seconds", "silent"),
        (f"{SITE}/second_relay_welded/early run", "right"),
        # A soft hose, and a current sensor: called an open line, and a bad sensor.
        ("97000002/source_empty/early run", "right"),
        ("97000002/motor_cut_out/early run", "right"),
        ("97000002/pressure_port_clogged/early run", "right"),
        ("104000005/relay_bridged/check", "right"),
    ],
)
def test_cells_of_the_matrix(case: str, verdict: str) -> None:
    row = json.loads(json.dumps(phases.attempt(case)))
    assert phases.PART.verdict(case, row) == verdict, row


@pytest.mark.parametrize(
    ("fault", "without", "told", "key"),
    [
        ("source_empty", {"dry_hold_ms": 119_000, "dry_night_s": 600}, "dry for", "dry_s"),
        ("outlet_shut", {"dead_head_hold_ms": 10_000, "rating_pa": 900_000}, "above", "over_s"),
        ("pump_stalled", {"stall_hold_ms": 10_000, "floor_hold_ms": 10_000}, "hot:", "heat_s"),
    ],
)
def test_harm_is_seen_where_the_board_lets_it_happen(
    fault: str, without: dict[str, int], told: str, key: str
) -> None:
    """The plant's truth, with the protections set as far beyond what the pump stands as the
    board accepts, beside those of the site."""
    at = phases.place(SITE)
    site = replace(at.site, cable=replace(at.site.cable, fuse_a=60.0))
    trouble = (FaultSpec(fault, 1, 100.0),)
    lax = at.settings | {"line_open_hold_ms": 120_000} | without
    row = phases.row_of(at, run_night(site, lax, SITE, trouble), 100.0)
    assert any(words.startswith(told) for words in verdicts.harm(row)), row
    guarded = run_night(site, at.settings, SITE, trouble)
    assert row["toll"][key] > 1.5 * vars(guarded.toll)[key]


def test_wrong_words_silence_and_a_lockout_that_ends() -> None:
    row = {"said": ["trip no prime"], "toll": {}, "sound_s": 600.0, "felt": True, "after": []}
    row |= {"capacity_ah": 80.0, "load_sense": True}
    assert verdicts.judge(row, ("hose_kinked",)) == "wrong"
    assert verdicts.judge(row, ("source_empty",)) == "right"
    row["said"] = ["trip bad supply", "trip low charge"]
    assert verdicts.judge(row, ("flat_battery",)) == "right"
    assert verdicts.judge(row, ("corroded_clamp",)) == "wrong"
    for said in (row["said"][:1], row["said"][::-1]):
        assert verdicts.judge(row | {"said": said}, ("flat_battery",)) == "wrong"
    row["said"] = ["trip relay closed: closed by itself"]
    assert verdicts.judge(row, ("relay_bridged",)) == "right"
    assert verdicts.judge(row, ("relay_welded",)) == "wrong"
    row["said"] = ["skip missed"]
    assert verdicts.wrong(row, ("pump_stalled",), False) == ["stopped without a word"]
    assert verdicts.judge(row, ("battery_lifted",)) == "silent"
    row["after"] = ["dark", "lockout", "idle"]
    assert verdicts.judge(row, ("rain",), locked=True) == "wrong"


def test_a_pair_of_faults_is_judged_by_the_words_of_both() -> None:
    case = f"{SITE}/rain@last seconds+outlet_shut@early run"
    row = json.loads(json.dumps(pairs.attempt(case)))
    assert pairs.PART.verdict(case, row) == "right", row
    assert pairs.faults_of(case) == ("rain", "outlet_shut")
    drawn = list(islice(pairs.cases(SITE), 3))
    assert drawn == list(islice(pairs.cases(SITE), 3))
    assert len(set(drawn)) == 3


def test_settings_that_ruin_the_pump_are_found() -> None:
    _, good = wild_settings.base()
    assert not problems(good | wild_settings.draw(7))
    row = wild_settings.attempt("7")
    assert set(row) == {"changes", "sound", *wild_settings.TROUBLES}
    assert wild_settings.PART.verdict("7", row) == "safe", row
    lax = {"source_empty": {"dry_s": 300.0}, "outlet_shut": {"on_s": 61.0}, "sound": {}}
    row = {name: {"toll": toll, "said": ["trip duty"]} for name, toll in lax.items()}
    assert wild_settings.found(row) == [
        "pumps dry for 300 s",
        "pumps against a shut line for 61 s",
        "never waters: trip duty",
    ]


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"dry_pa": 0, "line_open_permille": 0, "set1_runs": 1}, "pumps dry for"),
        ({"dead_head_pa": 800_000, "rating_pa": 900_000}, "pumps against a shut line for"),
        ({"current_zero_ma": 0, "normal_mv": 14_000}, "never waters: trip bad supply"),
    ],
)
def test_a_board_that_accepts_what_ruins_the_pump_is_found(
    changes: dict[str, int], found: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Settings are refused that do this; the part must find it where they are not."""
    _, good = wild_settings.base()
    assert problems(good | changes)
    monkeypatch.setattr(plausible, "harmful", lambda known: [])
    monkeypatch.setattr(plausible, "idle", lambda known, sets: [])
    monkeypatch.setattr(wild_settings, "draw", lambda seed: changes)
    row = wild_settings.attempt("7")
    assert wild_settings.PART.verdict("7", row) == "unsafe"
    assert wild_settings.found(row)[0].startswith(found)


on_one_worker = pytest.mark.xdist_group("mutants")
"""All are listed once: seconds."""


@on_one_worker
def test_mutants_are_small_and_named_by_line_and_change() -> None:
    cycle = mutants_of(mutants.KEEPER / "cycle.py")
    first = next(iter(cycle.values()))
    assert first.change == "set due[0] .->idle"
    assert first.line.startswith('("set due",')
    told = {mutant.change for mutant in mutants.all_mutants().values()}
    assert {"dead head: action RETRY->NIGHT", "ORDER row dropped dry_pa<primed_pa"} <= told
    assert "relay open: does not give way to fuse blown" in told
    assert {"return 0", "cmp Lt->LtE", "bool And->Or", "bin Add->Sub", "const 0->1"} <= told
    for mutant in islice(mutants.all_mutants().values(), 0, None, 20):
        source = (mutants.KEEPER / f"{mutant.module}.py").read_text()
        assert source != mutant.text
        compile(mutant.text, mutant.module, "exec")


@on_one_worker
def test_a_mutant_is_caught_by_the_first_test_that_fails() -> None:
    case = next(name for name in mutants.all_mutants() if name.endswith("set due[1] check->."))
    row = mutants.attempt(case)
    assert row["caught"].startswith("tests/keeper/test_cycle.py::")
    assert mutants.PART.verdict(case, row) == "caught"


@on_one_worker
def test_a_changed_function_is_caught_by_its_module_s_own_tests() -> None:
    line = "return settings.current_zero_ma"
    case = next(
        name
        for name, mutant in mutants.all_mutants().items()
        if mutant.line.startswith(line) and mutant.change == "return 0"
    )
    row = mutants.attempt(case)
    assert row["caught"].startswith("tests/keeper/test_charge.py::test_current_is_a_line")


def test_functions_get_other_code_and_what_is_beside_them_does_not() -> None:
    """A property, a method, a function within one; and where a constant changes all is loaded."""
    was = "A = 1\nclass C:\n    @property\n    def p(self): return A\ndef f(): return lambda: 2"
    now = was.replace("return A", "return A + 1").replace("lambda: 2", "lambda: 3")
    module = ModuleType("m")
    exec(was, vars(module))
    functions = swap.changed_functions(compile(was, "m", "exec"), compile(now, "m", "exec"))
    assert functions is not None
    assert set(functions) == {"C.p", "f"}
    held = module.f
    swap.put(module, functions)
    assert (module.C().p, held()()) == (2, 3)
    other = compile(was.replace("A = 1", "A = 2"), "m", "exec")
    assert swap.changed_functions(compile(was, "m", "exec"), other) is None


def test_a_mutant_that_is_known_can_be_made() -> None:
    """A line that is gone or has another name keeps no reason."""
    made = {(one.module, one.line, one.change) for one in mutants.all_mutants().values()}
    assert mutants.equivalent().keys() <= made


@on_one_worker
def test_a_survivor_needs_a_reason(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    case, mutant = next(
        (name, mutant)
        for name, mutant in mutants.all_mutants().items()
        if mutant.module == "charge"
    )
    assert mutants.PART.verdict(case, {"caught": ""}) == "survived"
    file = tmp_path / "equivalent.toml"
    row = {"module": "charge", "line": mutant.line, "change": mutant.change, "reason": "none"}
    pairs = "\n".join(f"{key} = {json.dumps(value)}" for key, value in row.items())
    file.write_text(f"[[mutant]]\n{pairs}\n")
    monkeypatch.setattr(mutants, "EQUIVALENT", file)
    mutants.equivalent.cache_clear()
    assert mutants.PART.verdict(case, {"caught": ""}) == "equivalent"
    mutants.equivalent.cache_clear()


def test_the_page_counts_the_matrix(tmp_path: Path) -> None:
    row = phases.attempt(f"{SITE}/outlet_shut/mid run")
    wrong = row | {"said": ["trip dry run"]}
    rows = {f"{SITE}/outlet_shut/mid run": row, f"{SITE + 1}/outlet_shut/mid run": wrong}
    campaign.page.write([Outcome(phases.PART, rows, 1.0, 2214)], SITE, tmp_path / "one.html")
    page = (tmp_path / "one.html").read_text()
    assert '<td class="wrong">1 wrong, 1 right</td>' in page
    assert f"--only phases --case &#34;{SITE + 1}/outlet_shut/mid run&#34;" in page


def test_here_nothing_is_drawn() -> None:
    """The same examples on every machine, none kept from the last run, no time that decides."""
    assert not effort.IN_CAMPAIGN
    assert settings.default.derandomize
    assert settings.default.database is None
    assert settings.default.deadline is None
