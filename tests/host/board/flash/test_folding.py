"""Constants go to the board without their names, and nothing else changes."""

import ast
import importlib

import pytest

from rillkeeper.board.flash.folding import folded
from tests.interpreters.flashed import firmware_readers, firmware_sources


def fold(text: str, reader: str = "from keeper.one import f", **others: str) -> str:
    """What becomes of keeper/one.py, empty lines left out."""
    sources = {"keeper/one.py": text} | {f"keeper/{name}.py": t for name, t in others.items()}
    return tidy(folded(sources, {"main.py": reader})["keeper/one.py"])


def tidy(text: str) -> str:
    return "".join(f"{line}\n" for line in text.splitlines() if line)


READ = "\n\ndef f(x):\n    return x + {}\n"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("LIMIT = 5" + READ.format("LIMIT"), 5),
        ("LIMIT: int = 5" + READ.format("LIMIT"), 5),
        ("_LIMIT = const(2 * 60)" + READ.format("_LIMIT"), 120),
        ("HALF = 30\nWHOLE = 2 * HALF" + READ.format("WHOLE"), 60),
        ("ROWS = ('a', 'b')\nA, B = range(len(ROWS))" + READ.format("B"), 1),
        ("def g(a):\n    return a * 2\n\n\nLIMIT = g(4)" + READ.format("LIMIT"), 8),
    ],
)
def test_a_number_takes_the_place_of_its_name(text: str, value: int) -> None:
    assert fold(text) == f"def f(x):\n    return x + {value}\n"


@pytest.mark.parametrize(
    ("other", "text"),
    [
        ("LIMIT = 7\n", "from .two import LIMIT" + READ.format("LIMIT")),
        ("LIMIT = 7\n", "from keeper.two import LIMIT as MOST" + READ.format("MOST")),
        ("LIMIT = 7\n", "from . import two" + READ.format("two.LIMIT")),
    ],
)
def test_also_where_it_is_imported(other: str, text: str) -> None:
    assert "x + 7" in fold(text, two=other)
    assert "LIMIT" not in fold(text, two=other)


def test_what_is_imported_in_a_function_keeps_its_name_there() -> None:
    """Modules that import each other: which loads first is the board's matter."""
    sources = {
        "keeper/one.py": "def f(x):\n    from .two import LIMIT\n    return x + LIMIT\n",
        "keeper/two.py": "from .one import f\nLIMIT = 7\n\n\ndef g():\n    return f(LIMIT)\n",
    }
    made = folded(sources, {"main.py": "from keeper.two import g"})
    assert made["keeper/one.py"] == sources["keeper/one.py"]
    assert "LIMIT = 7" in made["keeper/two.py"]


@pytest.mark.parametrize(
    "text",
    [
        "LIMIT = 1\nLIMIT = 2" + READ.format("LIMIT"),
        "LIMIT = 1\n\n\ndef f(x):\n    global LIMIT\n    LIMIT = x\n    return LIMIT\n",
        "LIMIT = 1\n\n\ndef f(LIMIT):\n    return LIMIT\n",
        "LIMIT = 1073741824" + READ.format("LIMIT"),
        "LIMIT = pin.value()" + READ.format("LIMIT"),
        "LIMIT = 'text'" + READ.format("LIMIT"),
        "limit = 1" + READ.format("limit"),
        "LIMIT = True" + READ.format("LIMIT"),
    ],
)
def test_what_may_change_or_is_no_small_number_keeps_its_name(text: str) -> None:
    assert fold(text) == tidy(text)


def test_the_text_stays_as_it_is_written() -> None:
    """A tuple that gets brackets is made on the heap; a negative number binds as a name does."""
    text = "LEAST = -2\n\n\ndef f(x, y):\n    x, y = y, x - LEAST ** 2  # \u00fc\n    return x, y"
    assert fold(text) == tidy(text.partition("\n")[2].replace("LEAST", "(-2)"))
    scope: dict[str, object] = {}
    exec(fold(text), scope)
    assert scope["f"](1, 2) == (2, -3)  # type: ignore[operator]


def test_what_main_reads_keeps_its_name() -> None:
    text = "LIMIT = 1" + READ.format("LIMIT")
    for reader in ("from keeper.one import LIMIT, f", "from keeper import one\none.LIMIT\none.f"):
        assert fold(text, reader) == tidy(text)


def test_what_nobody_reads_is_left_out() -> None:
    unread = "from .two import g\nNAMES = (1, 2)\n\n\ndef h():\n    return g()\n"
    text = unread + "\n\ndef f():\n    pass\n"
    assert fold(text, two="def g():\n    pass\n") == "def f():\n    pass\n"


def test_what_does_something_stays() -> None:
    """A call by an attribute may be a board's: a pin that is set, a file that is opened."""
    text = "PIN = machine.Pin(3)\n\n\ndef f():\n    pass\n"
    assert "machine.Pin(3)" in fold(text)


def test_the_whole_firmware_means_the_same() -> None:
    """Every constant that the control package keeps, held against the package itself; and every
    name that a module of the board reads of another is there."""
    made = folded(firmware_sources(), firmware_readers())
    kept = 0
    names = {
        path.removesuffix(".py").replace("/", "."): {
            name for node in ast.walk(ast.parse(text)) for name in _defined(node)
        }
        for path, text in made.items()
    }
    for path, text in made.items():
        if path.startswith("keeper/"):
            module = importlib.import_module(path.removesuffix(".py").replace("/", "."))
            for node in ast.parse(text).body:
                match node:
                    case ast.Assign(targets=[ast.Name(id=name)], value=ast.Tuple() as value):
                        assert ast.literal_eval(value) == getattr(module, name), (path, name)
                        kept += 1
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and node.module:
                source = path.split("/")[0] + "." + node.module if node.level else node.module
                missing = {one.name for one in node.names} - names.get(source, set())
                assert not missing or source not in names or source == "keeper", (path, missing)
    assert kept > 10


def _defined(node: ast.AST) -> list[str]:
    match node:
        case ast.Name(id=name, ctx=ast.Store()) | ast.FunctionDef(name=name):
            return [name]
        case ast.ClassDef(name=name):
            return [name]
    return []
