"""Walks of a keeper through the garden of ``scripts/``, in any interpreter, and their sums."""

import json
from pathlib import Path
from typing import Any

from keeper.cycle import NEXT, STATES
from tests.interpreters import rigs
from tests.interpreters.board import BOARD

Walks = list[dict[str, Any]]


def walked(name: str, folder: Path, cases: Walks, library: Path = rigs.FIRMWARE) -> Walks:
    """What came of all walks in that interpreter; ``scripts/walk.py`` says what a case holds."""
    case = {"settings": BOARD, "walks": cases}
    (folder / "case.json").write_text(json.dumps(case), encoding="utf-8")
    lines = rigs.interpreter(name, library).run("walk.py", folder, timeout_s=480.0).splitlines()
    return [json.loads(line) for line in lines]


def wrong(cases: Walks, walks: Walks) -> list[str]:
    """A line for each walk in which something was allocated."""
    return [
        f"after {walk['steps']} steps of {case}: in {walk['state']}, trouble: {walk['trouble']}"
        for case, walk in zip(cases, walks, strict=True)
        if walk["allocated"]
    ]


def pairs(walks: Walks) -> dict[str, int]:
    """What they pass through: pairs of event and state, those of them that change the state,
    pairs of rule and state in which it acts."""
    moves, acts = (
        {pair for walk in walks for pair, n in enumerate(walk[what]) if n}
        for what in ("moves", "acts")
    )
    changes = {
        (event, state)
        for event, state in (divmod(pair, len(STATES)) for pair in moves)
        if NEXT[event][state] != state
    }
    return {"moves": len(moves), "changes": len(changes), "acts": len(acts)}
