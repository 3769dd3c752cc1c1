"""A whole tick allocates nothing, from converter to watchdog: 64 bits and, as on a board, 32."""

import json
from pathlib import Path

import pytest

from keeper.cycle import STATES
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

pytestmark = pytest.mark.interpreter


@pytest.mark.parametrize(("name", "bits"), [("unix", 63), ("wasm", 31)])
def test_no_tick_allocates(name: str, bits: int, tmp_path: Path) -> None:
    """In each state, across the wrap of the counter in each, with the chip's clock or the own."""
    (tmp_path / "case.json").write_text(json.dumps({"settings": BOARD}), encoding="utf-8")
    told = json.loads(rigs.interpreter(name).run("device_tick.py", tmp_path))
    assert told["small_int_bits"] == bits
    assert told["caught"], "the lock would not have shown an allocation"
    *walks, unset = told["walks"]
    for walk in walks:
        assert walk["allocated"] == []
        assert set(walk["seen"]) == set(walk["wrapped_in"]) == set(STATES) - {"unset"}
        assert walk["midnights"] > 3
        assert walk["fed"] == sum(walk["seen"].values()), "every tick proved itself"
    assert (told["levels"], told["timer"]) == ([1, 1, 0], "hard"), "in the interrupt, too"
    assert unset["allocated"] == []
    assert unset["wrapped_in"] == list(unset["seen"]) == ["unset"]


def test_noise_leaves_the_heap_as_it_was(tmp_path: Path) -> None:
    """A million bytes on the serial line: nothing is kept of them, and nothing is done."""
    case = {"settings": BOARD, "bytes": 1_000_000}
    (tmp_path / "case.json").write_text(json.dumps(case), encoding="utf-8")
    told = json.loads(rigs.interpreter("unix").run("serial_noise.py", tmp_path))
    assert told["left"] <= 0
    early, late = told["used"]
    assert late - early < 1024
    assert told["passed_over"] > 3000
    assert told["answers"] > 10_000
    assert told["made"] == 0
