"""Constants that have a name in the sources go to a board without it.

The constant of a module costs a board its name, a place in the module's dictionary, and a look
into that on every use; on a tick most of all. So before the compiler reads the sources

- each whole number that is named once at the top of a module, and never given another value, is
  put where its name is read, in that module and in all that import it;
- a table that is made of others when its module loads stands there as it comes out;
- what nothing on the board reads any more is left out: numbers, tables and functions that are
  for the desktop, and imports.

What is left is the text that was written, so that it does the same and allocates no more: a tuple
in brackets where there were none is made on the heap. Functions and fields keep their names, so
an error on a board still names its function.
"""

import ast
from collections.abc import Iterable, Mapping

from rillkeeper.board.flash.constants import Module, is_only_named, modules_of

SMALL = 1 << 30
"""A whole number from here on is an object on a 32-bit board: one that its name keeps."""
TABLE_CHARACTERS = 4000
"""A table that is longer as a text takes fewer bytes as it is made: that of the settings."""


def folded(sources: Mapping[str, str], readers: Mapping[str, str]) -> dict[str, str]:
    """The sources by path ("keeper/rules.py"), with constants in the place of their names.

    ``readers`` are sources that go to the board as they are: what they read keeps its name.
    """
    modules = modules_of(sources)
    kept = {item for path, text in readers.items() for item in Module(path, text).reads()}
    numbers = {
        module.dotted: {
            name: value
            for name, value in module.known.items()
            if name in module.once
            and type(value) is int
            and abs(value) < SMALL
            and (module.dotted, name) not in kept
        }
        for module in modules.values()
    }
    texts = {module.dotted: _Text(sources[module.path]) for module in modules.values()}
    for name, module in modules.items():
        _Folder(module, numbers, texts[name]).visit(module.tree)
    while _leave_out(modules, texts, kept):
        pass
    return {module.path: texts[name].changed() for name, module in modules.items()}


class _Text:
    """A source, and what is to stand in the place of parts of it."""

    def __init__(self, text: str) -> None:
        self._lines = text.encode("utf-8").splitlines(keepends=True)
        self._parts: dict[tuple[int, int], bytes] = {}
        """New text by the first byte and the one after the last."""
        self._starts = [0]
        for line in self._lines:
            self._starts.append(self._starts[-1] + len(line))

    def put(self, node: ast.expr | ast.stmt, text: str) -> None:
        """Have this in the place of a node, and of all that was put inside it."""
        if node.end_lineno is None or node.end_col_offset is None:
            raise ValueError("a node of no text")
        first = self._starts[node.lineno - 1] + node.col_offset
        after = self._starts[node.end_lineno - 1] + node.end_col_offset
        self._parts[first, after] = text.encode("utf-8")

    def changed(self) -> str:
        """The source with all of it."""
        whole = b"".join(self._lines)
        made = bytearray()
        done = 0
        for (first, after), text in sorted(
            self._parts.items(), key=lambda part: (part[0][0], -part[0][1])
        ):
            if first >= done:
                made += whole[done:first] + text
                done = after
        return (bytes(made) + whole[done:]).decode("utf-8")


class _Folder(ast.NodeTransformer):
    """Puts the constants of a module in the place of their names."""

    def __init__(
        self, module: Module, numbers: Mapping[str, Mapping[str, int]], text: _Text
    ) -> None:
        self._text = text
        self._own = module.own
        self._here = numbers[module.dotted]
        self._inside = {
            name: numbers.get(f"{there.source}.{there.name}", {})
            for name, there in module.imports.items()
            if name in module.once
        }
        """The numbers of modules, by the names that these are imported by."""

    def visit_Name(self, node: ast.Name) -> ast.AST:
        if isinstance(node.ctx, ast.Load) and node.id in self._here:
            return self._number(node, self._here[node.id])
        return node

    def visit_Attribute(self, node: ast.Attribute) -> ast.AST:
        match node.value:
            case ast.Name(id=name) if node.attr in self._inside.get(name, {}):
                return self._number(node, self._inside[name][node.attr])
        return self.generic_visit(node)

    def visit_Assign(self, node: ast.Assign) -> ast.AST:
        match node.targets:
            case [ast.Name(id=name)] if _is_plain(self._own.get(name)):
                text = repr(self._own[name])
                if len(text) <= TABLE_CHARACTERS:
                    self._text.put(node.value, text)
                    node.value = ast.parse(text, mode="eval").body
                    return node
        return self.generic_visit(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.AST:
        return node  # Before Python 3.12 its parts have no place in the text.

    def _number(self, node: ast.expr, value: int) -> ast.expr:
        self._text.put(node, str(value) if value >= 0 else f"({value})")
        return ast.Constant(value)


def _is_plain(value: object) -> bool:
    """Whether it is a table of constants, all the way down."""
    return isinstance(value, tuple) and all(
        part is None or isinstance(part, str | int) or _is_plain(part) for part in value
    )


def _leave_out(
    modules: Mapping[str, Module], texts: Mapping[str, _Text], kept: set[tuple[str, str]]
) -> bool:
    """Take out of modules what nothing reads; whether there was something."""
    read = kept.union(*(module.reads() for module in modules.values()))
    found = False
    for module in modules.values():
        if module.path.endswith("__init__.py"):
            continue  # What it imports is for others.
        wanted = {name for dotted, name in read if dotted == module.dotted}
        text = texts[module.dotted]
        left = []
        for node in module.tree.body:
            if isinstance(node, ast.ImportFrom):
                found |= _imports_less(node, wanted, text)
            if _is_needless(node, wanted):
                text.put(node, "")
                found = True
            else:
                left.append(node)
        module.tree.body = left
    return found


def _imports_less(node: ast.ImportFrom, wanted: Iterable[str], text: _Text) -> bool:
    """Leave out of an import what is not wanted; whether there was something."""
    names = [one for one in node.names if (one.asname or one.name) in wanted]
    if len(names) == len(node.names):
        return False
    node.names = names
    if names:
        text.put(node, ast.unparse(node))
    return True


def _is_needless(node: ast.stmt, wanted: set[str]) -> bool:
    """Whether a statement at the top of a module only names what nobody reads."""
    match node:
        case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
            return name not in wanted and is_only_named(node)
        case ast.Assign(targets=[ast.Tuple(elts=names)]):
            return wanted.isdisjoint(map(ast.unparse, names)) and is_only_named(node)
        case ast.FunctionDef(name=name):
            return name not in wanted
        case ast.ImportFrom(names=[]):
            return True
    return False
