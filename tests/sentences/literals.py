"""Every sentence that stands in the desktop's code, with its place; what is filled in as {...}."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PLACES = ("host/rillkeeper", "sim/rillsim/faults")
WORDS_MIN = 3


@dataclass(frozen=True)
class Literal:
    """One text."""

    file: str
    line: int
    text: str


def literals() -> Iterator[Literal]:
    """All of them, in the order of the files."""
    for place in PLACES:
        for path in sorted((ROOT / place).rglob("*.py")):
            yield from _of_file(path)
    for path in sorted((ROOT / "host/rillkeeper").rglob("*.html")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            if not line.lstrip().startswith(("{%", "{#")) and len(line.split()) >= WORDS_MIN:
                yield Literal(str(path.relative_to(ROOT)), number, line.strip())


def _of_file(path: Path) -> Iterator[Literal]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    parts = {
        id(child)
        for node in ast.walk(tree)
        if isinstance(node, ast.JoinedStr)
        for child in ast.walk(node)
        if child is not node
    }
    docs = set(_docstrings(tree, commands="commands" in path.parts))
    for node in ast.walk(tree):
        if id(node) in parts or id(node) in docs:
            continue
        text = _text(node)
        if text and len(text.split()) >= WORDS_MIN and any(c.isalpha() for c in text):
            yield Literal(str(path.relative_to(ROOT)), node.lineno, text)  # type: ignore[attr-defined]


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(part.value) if isinstance(part, ast.Constant) else "{...}" for part in node.values
        )
    return ""


def _docstrings(tree: ast.Module, *, commands: bool) -> Iterator[int]:
    """Texts for people who read the code. Those of a command are its help."""
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if not isinstance(body, list):
            continue
        helps = commands and isinstance(node, ast.FunctionDef) and node.decorator_list
        for number, child in enumerate(body):
            if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                if not (helps and number == 0):
                    yield id(child.value)
