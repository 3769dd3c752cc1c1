"""Mutants of the control package against its own tests: each is killed, or known as equivalent.

The checkout is left as it is: `nursery.py` changes the modules in a child of a process that has
read the tests once, the narrowest of them come first, and the first failure ends it.
"""

import json
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from random import Random

from tests.campaign.kept import ROOT
from tests.campaign.mutate import Mutant, mutants_of
from tests.campaign.nursery import KEEPER, MADE_OF
from tests.campaign.part import Part, Row, Rows

EQUIVALENT = Path(__file__).with_name("equivalent_mutants.toml")
STRICT = ("rules", "guard", "cycle", "settings", "charge", "watering", "check", "waiting")
"""Modules in which no survivor without a reason is the goal."""


@cache
def all_mutants() -> dict[str, Mutant]:
    """Every mutant of every module, by name."""
    return {
        name: mutant
        for path in sorted(KEEPER.glob("*.py"))
        for name, mutant in mutants_of(path).items()
    }


def cases(first: int) -> Iterator[str]:
    """All of them, well mixed: what is done of them is a sample of all."""
    names = list(all_mutants())
    Random(first).shuffle(names)
    return iter(names)


def attempt(case: str) -> Row:
    """Which test catches it, if one does."""
    mutant = all_mutants()[case]
    first, last = mutant.statement
    asked = {"module": mutant.module, "first": first, "last": last, "text": mutant.text}
    nursery = _nursery()
    assert nursery.stdin is not None
    assert nursery.stdout is not None
    nursery.stdin.write(json.dumps(asked) + "\n")
    nursery.stdin.flush()
    answer = nursery.stdout.readline()
    if not answer:
        _nursery.cache_clear()
        raise RuntimeError("the tests of the control package cannot be read as they stand")
    return {"caught": json.loads(answer)}


@cache
def _nursery() -> subprocess.Popen[str]:
    """One for each process that tries mutants; it ends with it."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.campaign.nursery"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


@cache
def equivalent() -> dict[tuple[str, str, str], str]:
    """Module, line and change of mutants that nothing can tell from the original: the reason."""
    if not EQUIVALENT.exists():
        return {}
    known = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))["mutant"]
    return {(row["module"], row["line"], row["change"]): row["reason"] for row in known}


def verdict(case: str, row: Row) -> str:
    """Caught, equivalent with a reason, or a survivor."""
    if row["caught"]:
        return "caught"
    mutant = all_mutants()[case]
    if (mutant.module, mutant.line, mutant.change) in equivalent():
        return "equivalent"
    return "survived" if mutant.module in STRICT else "survived elsewhere"


def told(case: str, row: Row) -> str:
    """The line and what was changed in it."""
    mutant = all_mutants()[case]
    return f"{mutant.module}.py {mutant.line_number}: {mutant.line}   [{mutant.change}]"


def summary(rows: Rows) -> list[str]:
    """Survivors module by module."""
    tried: Counter[str] = Counter()
    left: Counter[str] = Counter()
    for case, row in rows.items():
        if case not in all_mutants():
            continue
        module = all_mutants()[case].module
        tried[module] += 1
        left[module] += verdict(case, row).startswith("survived")
    words = ", ".join(f"{module} {left[module]} of {tried[module]}" for module in sorted(tried))
    return [f"Survivors without a reason: {words}."] if words else []


def detail(case: str) -> list[str]:
    """The changed module."""
    return all_mutants()[case].text.splitlines()


PART = Part(
    "mutants",
    cases,
    attempt,
    "Small wrong changes to every module of the control package: a test of tests/keeper catches "
    "each, or a reason says why nothing can tell it from the original.",
    verdict=verdict,
    told=told,
    allowed={"survived": 0.0, "survived elsewhere": 1.0},
    summary=summary,
    detail=detail,
    made_of=(*MADE_OF, "tests/campaign/mutate.py"),
)
