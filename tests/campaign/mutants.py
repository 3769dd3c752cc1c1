"""Mutants of the control package against its own tests: each is killed, or known as equivalent.

The tests run in a copy of what they need, never in the checkout; those of the module itself come
first, then the quick ones, and the first failure ends it.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator
from functools import cache, partial
from pathlib import Path
from random import Random
from resource import RLIMIT_CPU, setrlimit
from signal import SIGKILL, SIGXCPU

from tests.campaign.kept import ROOT
from tests.campaign.mutate import Mutant, mutants_of
from tests.campaign.part import Part, Row, Rows

KEEPER = ROOT / "firmware" / "keeper"
EQUIVALENT = Path(__file__).with_name("equivalent_mutants.toml")
NEEDED = ("firmware/keeper", "tests/keeper", "tests/scenarios/__init__.py", "pyproject.toml")
BESIDE = ("tests/__init__.py", "tests/conftest.py", "tests/effort.py", "tests/outside.py")
SLOW = ("naps", "properties", "tick_wrap", "plan", "clearing", "facts", "rules", "clockwatch")
"""What takes longest, the longest first; the rest takes seconds."""
FOR_EVER_S = 300
"""Processor time, ten times what all tests take: then it turns in a circle, caught as well."""
STRICT = ("rules", "guard", "cycle", "settings", "charge", "watering", "check", "waiting")
"""Modules in which no survivor without a reason is the goal."""
FAILED, UNREADABLE = 1, 2
"""Statuses of pytest: a test failed, or could not even be imported."""


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
    with tempfile.TemporaryDirectory(prefix="mutant") as folder:
        copy = Path(folder)
        for path in (*NEEDED, *BESIDE):
            source, target = ROOT / path, copy / path
            target.parent.mkdir(parents=True, exist_ok=True)
            if source.is_dir():
                shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, target)
        (copy / "firmware" / "keeper" / f"{mutant.module}.py").write_text(mutant.text)
        return {"caught": caught_by(copy, mutant.module)}


def caught_by(copy: Path, module: str) -> str:
    """The first test that fails, or nothing."""
    words = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--tb=no", "-o", "addopts="]
    words += ["--import-mode=importlib"]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *words, *in_order(module)],
        cwd=copy,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": "firmware"},
        capture_output=True,
        text=True,
        preexec_fn=partial(setrlimit, RLIMIT_CPU, (FOR_EVER_S, FOR_EVER_S)),
        check=False,
    )
    if done.returncode == 0:
        return ""
    if done.returncode in (-SIGXCPU, -SIGKILL):
        return "turns in a circle"
    if done.returncode not in (FAILED, UNREADABLE):
        raise RuntimeError(f"pytest ended with {done.returncode}: {done.stderr.strip()[-300:]}")
    failed = [line for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return failed[0] if failed else "cannot be imported"


def in_order(module: str) -> list[str]:
    """The test files of the control package: the module's own, the quick, the slow."""
    files = {path.stem.removeprefix("test_") for path in (ROOT / "tests/keeper").glob("test_*.py")}
    slow = [name for name in reversed(SLOW) if name in files]
    own = sorted(name for name in files if module in name)
    quick = sorted(files - {*slow, *own})
    ordered = [*own, *quick, *(name for name in slow if name not in own)]
    return [f"tests/keeper/test_{name}.py" for name in ordered]


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
    made_of=("firmware/keeper", "tests/keeper", "tests/campaign/mutate.py"),
)
