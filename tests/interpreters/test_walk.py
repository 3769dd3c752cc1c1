"""Long walks with the heap locked: no step allocates, and every interpreter does the same.

A board that allocates in its control step stops for a garbage collection now and then, and one
day for good. The 32-bit build is the one that counts: only there does a sum of more than 31
bits allocate, as it does on the board. The counter's wrap after 2**30 ms is crossed in every
state. ``make bench`` walks on for a million steps.
"""

from pathlib import Path

import pytest

from keeper.cycle import STATES
from keeper.records import KINDS
from keeper.relay import FIRST, SECOND
from keeper.rules import NAME, RULES
from keeper.second_relay import RELAY_STUCK
from tests.interpreters import rigs
from tests.interpreters.flashed import as_flashed
from tests.interpreters.walks import Walks, pairs, walked, wrong

pytestmark = [
    pytest.mark.interpreter,
    pytest.mark.slow,
    pytest.mark.xdist_group("walk"),
]

# Twice through all troubles of the garden: what one night leaves behind is met in the next.
LONG = {"garden": "garden", "start_ms": 0, "seed": 1, "steps": 102_000}
CHAOS = [
    {"garden": "chaos", "start_ms": 12345, "seed": seed, "steps": 40_000} for seed in (22, 24)
]
UNSET = {
    "garden": "garden",
    "start_ms": 0x3FFFFFFF - 50000,
    "seed": 3,
    "steps": 3000,
    "set": False,
}
WRAPS = [{"garden": "garden", "seed": 4, "wrap_in": state} for state in STATES if state != "unset"]
# Of two relays the second is stuck from the start, the first from the first run on; and neither.
TWO_RELAYS = [
    {"garden": "garden", "start_ms": 0, "seed": 5, "steps": 1000, "stuck": SECOND},
    {"garden": "garden", "start_ms": 0, "seed": 5, "steps": 3000, "stuck": FIRST}
    | {"stuck_from": 800},
    {"garden": "chaos", "start_ms": 12345, "seed": 6, "steps": 20_000, "stuck": 0},
]
# A meter whose wheel stops after some seconds, beside a transducer and without one.
METERED = [
    {"garden": "garden", "start_ms": 0, "seed": 7, "steps": 3000, "meter": 60},
    {"garden": "garden", "start_ms": 0, "seed": 7, "steps": 3000, "meter": 60, "pressure": 0},
    {"garden": "garden", "start_ms": 0, "seed": 7, "steps": 3000, "meter": 0, "pressure": 0},
    {"garden": "chaos", "start_ms": 12345, "seed": 8, "steps": 20_000, "meter": 400},
]
WALKS = [UNSET, *WRAPS, LONG, *CHAOS, *TWO_RELAYS, *METERED]

# What they pass through at the least (see walks.py). A million steps and more that were not
# chosen for it had 37, 28 and 33.
PAIRS = {"moves": 53, "changes": 34, "acts": 39}


# Each interpreter walks once, for all tests that ask.
@pytest.fixture(scope="module")
def cpython(tmp_path_factory: pytest.TempPathFactory) -> Walks:
    return walked("cpython", tmp_path_factory.mktemp("walk"), WALKS)


@pytest.fixture(scope="module")
def unix(tmp_path_factory: pytest.TempPathFactory) -> Walks:
    return walked("unix", tmp_path_factory.mktemp("walk"), WALKS)


@pytest.fixture(scope="module")
def wasm(tmp_path_factory: pytest.TempPathFactory) -> Walks:
    """The 32 bits of a board, and its bytecode as `rillkeeper flash` makes it."""
    library = tmp_path_factory.mktemp("library")
    as_flashed(library, [rigs.SCRIPTS / "walk.py"], ["keeper"])
    return walked("wasm", tmp_path_factory.mktemp("walk"), WALKS, library)


@pytest.mark.parametrize("name", ["unix", "wasm"])
def test_heap_lock_catches(name: str, tmp_path: Path) -> None:
    """The gate itself; 63-bit small ints hide what the 32-bit build shows."""
    answers = rigs.interpreter(name).run("leak.py", tmp_path).split()
    wide = "free" if name == "unix" else "allocates"
    assert answers == ["free", wide, "allocates", "allocates"]


@pytest.mark.parametrize("name", ["unix", "wasm"])
def test_no_step_allocates(name: str, request: pytest.FixtureRequest) -> None:
    lines = wrong(WALKS, request.getfixturevalue(name))
    assert not lines, "\n".join(lines)


def test_the_walk_passes_through_everything(cpython: Walks) -> None:
    """Each state, each kind of record, each rule; unset has a walk of its own.

    Runs are broken off by losses of power only, and there are none in the garden. Two relays, and
    a meter, have walks of their own.
    """
    long = cpython[WALKS.index(LONG)]
    missing = [state for state, n in zip(STATES, long["states"], strict=True) if not n]
    missing += [kind[0] for kind, n in zip(KINDS, long["kinds"], strict=True) if not n]
    missing += [rule[0] for rule, n in zip(RULES, long["rules"], strict=True) if not n]
    assert missing == ["unset", "runs broken off", "relay stuck", "no flow", "bad meter"]
    unset = cpython[WALKS.index(UNSET)]
    assert unset["states"][STATES.index("unset")] == unset["steps"]
    assert sum(unset["wraps"]) == 1


def test_either_relay_is_found_stuck(cpython: Walks) -> None:
    """The second in the check, before any run; the first when the run has ended."""
    walks = [cpython[WALKS.index(case)] for case in TWO_RELAYS[:2]]
    assert all(walk["rules"][RELAY_STUCK] for walk in walks)
    assert [walk["states"][STATES.index("run")] > 0 for walk in walks] == [False, True]


def test_a_meter_that_stands_still_is_met_in_each_way(cpython: Walks) -> None:
    """Beside a transducer it is doubted after a rest; alone it stops the pump, or is never seen
    to turn by a battery that feels one with water."""
    walks = [cpython[WALKS.index(case)] for case in METERED[:3]]
    names = ("no flow", "bad meter")
    met = [
        [name for name in names if walk["rules"][[row[NAME] for row in RULES].index(name)]]
        for walk in walks
    ]
    assert met == [["no flow", "bad meter"], ["no flow"], ["no flow"]]


def test_the_walk_passes_through_every_pair(cpython: Walks) -> None:
    """Shorter walks would prove less: the pairs are counted."""
    free = [walk for case, walk in zip(WALKS, cpython, strict=True) if case in (LONG, *CHAOS)]
    found = pairs(free)
    assert all(found[what] >= PAIRS[what] for what in PAIRS), found
    assert all(sum(walk["wraps"]) > 10 for walk in free[1:])


@pytest.mark.parametrize("name", rigs.NAMES)
def test_the_wrap_changes_nothing(name: str, request: pytest.FixtureRequest) -> None:
    for case, walk in zip(WALKS, request.getfixturevalue(name), strict=True):
        if "wrap_in" in case:
            assert walk["wraps"][STATES.index(case["wrap_in"])] == 1
            assert walk["digest"] == walk["digest_without_wrap"], case["wrap_in"]


@pytest.mark.parametrize("name", ["unix", "wasm"])
def test_all_do_the_same(name: str, request: pytest.FixtureRequest, cpython: Walks) -> None:
    assert request.getfixturevalue(name) == cpython
