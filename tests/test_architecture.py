"""The shape of the source tree: who imports whom, how long a file may be, what the board bears."""

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from statistics import quantiles

import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = {
    "keeper": ROOT / "firmware/keeper",
    "device": ROOT / "firmware/device",
    "rillsim": ROOT / "sim/rillsim",
    "rillkeeper": ROOT / "host/rillkeeper",
}
STDLIB = set(sys.stdlib_module_names)

# What each package may import besides itself. `const` is the only thing keeper takes from
# the interpreter; the device is what knows pins, clock and flash.
MAY_IMPORT = {
    "keeper": {"micropython"},
    "device": {"keeper", "micropython", "machine", "rp2", "vfs"} | STDLIB,
    "rillsim": {"keeper", "numpy", "scipy", "fluids"} | STDLIB,
    "rillkeeper": {
        *("keeper", "rillsim", "numpy", "scipy", "fluids", "serial", "click", "rich"),
        *("jinja2", "matplotlib", "starlette", "uvicorn", "tomlkit", "distributed"),
    }
    | STDLIB,
}
# The host's rooms, from the ground up; a module beside them that is not listed is on the ground.
# A room may use its own floor and those below it.
ROOMS = (
    "site",
    "runlog",
    "design",
    "board",
    "inquiry",
    "morning",
    "season",
    "pages",
    "commands",
    "desk",
    "cli",
    "__main__",
)
LINES_MAX = 400
LINES_P90_MAX = 300
FUNCTION_LINES_MAX = 60
VAGUE_NAMES = {"utils", "util", "helpers", "helper", "common", "manager", "misc"}


def sources(package: str) -> list[Path]:
    return sorted(PACKAGES[package].rglob("*.py"))


ALL_SOURCES = [path for package in PACKAGES for path in sources(package)]
TEST_SOURCES = sorted((ROOT / "tests").rglob("*.py"))

DRAWS = {"SystemRandom", "urandom", "uuid4", "token_bytes", "secrets"}
CLOCKS = {"sleep", "monotonic", "perf_counter", "time"}
MAY_LOOK_AT_A_CLOCK = {
    "tests/patience.py",  # the ceiling over every wait for an event
    "tests/host/board/flash/promptboard.py",  # a board's own pace; what waits for it has no clock
    "tests/twin/nights.py",  # what `make twin` prints
}


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), name_of(path))


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and top-level module of each import; a relative import is the package itself."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name.partition(".")[0]
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.lineno, node.module.partition(".")[0]


@pytest.mark.parametrize("package", PACKAGES)
def test_imports_run_one_way(package: str) -> None:
    allowed = MAY_IMPORT[package] | {package}
    wrong = [
        f"{name_of(path)}:{line} imports {module}"
        for path in sources(package)
        for line, module in imported(path)
        if module not in allowed
    ]
    assert not wrong, "\n".join(wrong)


def modules_imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and whole name of each module or name that is imported."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                yield node.lineno, f"{node.module}.{alias.name}"


def floor_of(module: str) -> int:
    """The floor of a module of the host, 0 for the ground: by the room that it lies in."""
    room = module.split(".")[1]
    return 1 + ROOMS.index(room) if room in ROOMS else 0


def test_the_rooms_are_those_that_there_are() -> None:
    host = PACKAGES["rillkeeper"]
    there = {path.stem for path in host.iterdir() if path.suffix == ".py" or path.is_dir()}
    folders = {path.name for path in host.iterdir() if (path / "__init__.py").is_file()}
    assert set(ROOMS) <= there
    assert folders <= set(ROOMS), "a folder that has no floor yet"


def test_no_import_runs_up_in_the_host() -> None:
    host = PACKAGES["rillkeeper"]
    wrong = []
    for path in sources("rillkeeper"):
        own = "rillkeeper." + ".".join(path.relative_to(host).with_suffix("").parts)
        wrong += [
            f"{name_of(path)}:{line} imports {module}"
            for line, module in modules_imported(path)
            if module.startswith("rillkeeper.") and floor_of(module) > floor_of(own)
        ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("package", ["rillsim", "rillkeeper"])
def test_folders_form_no_circle(package: str) -> None:
    """Two folders of one room lie one above the other, too: neither needs the other back."""
    root = PACKAGES[package]
    folders = {
        ".".join((package, *path.parent.relative_to(root).parts)) for path in sources(package)
    }
    uses: dict[str, set[str]] = {folder: set() for folder in folders}
    for path in sources(package):
        own = ".".join((package, *path.parent.relative_to(root).parts))
        for _, module in modules_imported(path):
            parts = module.split(".")
            names = (".".join(parts[:n]) for n in range(len(parts), 1, -1))
            other = next((name for name in names if name in folders), None)
            # A folder's own face, and the modules beside it, are not another folder.
            if other and not (own.startswith(other) or other.startswith(own)):
                uses[own].add(other)
    try:
        list(TopologicalSorter(uses).static_order())
    except CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


@pytest.mark.parametrize("package", ["keeper", "rillsim"])
def test_no_clock_no_global_chance(package: str) -> None:
    """Time is an argument and chance is seeded, or the same seed would not give the same bytes."""
    forbidden = {"time", "datetime", "random", "secrets", "uuid"}
    wrong = [
        f"{name_of(path)}:{line} imports {module}"
        for path in sources(package)
        for line, module in imported(path)
        if module in forbidden
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("path", TEST_SOURCES, ids=name_of)
def test_tests_draw_nothing_and_wait_for_no_clock(path: Path) -> None:
    """Or `make test` is red by chance, or on a busy machine."""
    name = name_of(path)
    if name.startswith(("tests/bench/", "tests/campaign/")):  # These are no tests.
        return
    wrong = [f"{name}:{line} {what}" for line, what in chance_and_time(path)]
    if name in MAY_LOOK_AT_A_CLOCK:
        assert wrong, "take it off the list"
    else:
        assert not wrong, "\n".join(wrong)


def chance_and_time(path: Path) -> Iterator[tuple[int, str]]:
    """Where a file draws without a seed, or asks a clock."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.ImportFrom) and node.module == "time":
            yield from ((node.lineno, one.name) for one in node.names if one.name in CLOCKS)
        elif isinstance(node, ast.Attribute):
            if node.attr in DRAWS or (ast.unparse(node.value) == "time" and node.attr in CLOCKS):
                yield node.lineno, node.attr
        elif isinstance(node, ast.Name) and node.id in DRAWS:
            yield node.lineno, node.id
        elif isinstance(node, ast.Call) and not node.args:
            called = ast.unparse(node.func).rpartition(".")[2]
            if called in ("Random", "default_rng"):
                yield node.lineno, f"{called} without a seed"


def test_command_starts_without_the_picture_library() -> None:
    """matplotlib is an extra, and slow to import: only drawing a picture may ask for it."""
    question = "import sys, rillkeeper.cli; sys.exit('matplotlib' in sys.modules)"
    path = os.pathsep.join(str(ROOT / folder) for folder in ("firmware", "sim", "host"))
    answer = subprocess.run(
        [sys.executable, "-c", question], env={**os.environ, "PYTHONPATH": path}, check=False
    )
    assert answer.returncode == 0


def test_files_are_short() -> None:
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in ALL_SOURCES}
    long = [f"{name_of(p)}: {n} lines" for p, n in lines.items() if n > LINES_MAX]
    assert not long, "\n".join(long)
    p90 = quantiles(lines.values(), n=10)[-1]
    assert p90 < LINES_P90_MAX, f"one file in ten is longer than {p90:.0f} lines"


@pytest.mark.parametrize("path", TEST_SOURCES, ids=name_of)
def test_test_files_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LINES_MAX


def test_functions_are_short() -> None:
    """A function with a handbook page for a docstring is measured without the docstring."""
    long = []
    for path in ALL_SOURCES:
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                n = code_lines(node)
                if n > FUNCTION_LINES_MAX:
                    long.append(f"{name_of(path)}:{node.lineno} {node.name}: {n} lines")
    assert not long, "\n".join(long)


def code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    assert function.end_lineno is not None
    n = function.end_lineno - function.lineno + 1
    if ast.get_docstring(function) is not None:
        docstring = function.body[0]
        assert docstring.end_lineno is not None
        n -= docstring.end_lineno - docstring.lineno + 1
    return n


def test_module_names_say_what_is_inside() -> None:
    wrong = [name_of(p) for p in ALL_SOURCES + TEST_SOURCES if p.stem in VAGUE_NAMES]
    assert not wrong, wrong


@pytest.mark.parametrize("path", sources("keeper"), ids=name_of)
def test_keeper_is_integers_only(path: Path) -> None:
    """A float allocates on the board and has 32 bits there: the outputs would differ."""
    wrong = []
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Constant) and isinstance(node.value, float | complex):
            wrong.append(f"{name_of(path)}:{node.lineno} float {node.value}")
        elif isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Div):
            wrong.append(f"{name_of(path)}:{node.lineno} true division")
        elif isinstance(node, ast.Name) and node.id in {"float", "complex", "round", "pow"}:
            wrong.append(f"{name_of(path)}:{node.lineno} {node.id}")
        elif isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(node.op, ast.Pow):
            wrong.append(f"{name_of(path)}:{node.lineno} power, which may give a float")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("path", sources("keeper"), ids=name_of)
def test_keeper_speaks_plain_micropython(path: Path) -> None:
    """No construct that MicroPython 1.27 cannot parse, and no assert: it is compiled out there."""
    wrong = []
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Match | ast.Assert | ast.AsyncFunctionDef | ast.Await):
            wrong.append(f"{name_of(path)}:{node.lineno} {type(node).__name__.lower()}")
        elif isinstance(node, ast.ImportFrom) and node.module == "__future__":
            wrong.append(f"{name_of(path)}:{node.lineno} from __future__")
    assert not wrong, "\n".join(wrong)


@pytest.mark.xdist_group("groups")
def test_groups_stay_on_one_worker(request: pytest.FixtureRequest) -> None:
    """Or each worker works out again what a group shares: xdist writes the group into the name."""
    if request.config.getoption("loadgroup", False):
        assert request.node.nodeid.endswith("@groups")
