"""What the names at the top of the firmware's modules stand for, by their sources alone."""

import ast
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

_CONSTANT = re.compile(r"_?[A-Z][A-Z0-9_]*$")
_BUILTINS = {
    one.__name__: one
    for one in (range, len, tuple, list, enumerate, zip, min, max, all, any, int, bool, str, dict)
}
"""What a table of the firmware is made with; a call of anything else is not reckoned."""


@dataclass(frozen=True)
class Import:
    """A name that a module has from elsewhere."""

    source: str
    """The module that it is imported from, dotted."""
    name: str
    """What it is called there."""


class Module:
    """One source, by its path in the firmware ("keeper/rules.py")."""

    def __init__(self, path: str, text: str) -> None:
        self.path = path
        self.dotted = path.removesuffix(".py").replace("/", ".").removesuffix(".__init__")
        self._package = path.rpartition("/")[0].replace("/", ".")
        self.tree = ast.parse(text, path)
        stores = Counter(_stored(self.tree))
        self.once = {name for name, count in stores.items() if count == 1}
        """Names that are given a value in one place only."""
        self.first_imports = self._imports(self.tree.body)
        """By the names that they have here: those at the top, which a module loads with."""
        self.imports = self._imports(ast.walk(self.tree))
        """All, those in functions too."""
        self.known: dict[str, object] = {"__builtins__": _BUILTINS, "const": _itself}
        """All that could be reckoned, functions and what is imported included."""
        self.own: dict[str, object] = {}
        """The constants that are given their values here."""

    def reads(self) -> Iterator[tuple[str, str]]:
        """(module, name) of all that is read here of what stands at the top of a module."""
        for node in ast.walk(self.tree):
            match node:
                case ast.Name(id=name, ctx=ast.Load()):
                    yield self.dotted, name
                case ast.Attribute(value=ast.Name(id=name), attr=attribute):
                    there = self.imports.get(name)
                    if there is not None:
                        yield f"{there.source}.{there.name}", attribute
                case ast.ImportFrom(names=names):
                    yield from ((self._source_of(node), alias.name) for alias in names)

    def _imports(self, nodes: Iterable[ast.AST]) -> dict[str, Import]:
        return {
            alias.asname or alias.name: Import(self._source_of(node), alias.name)
            for node in nodes
            if isinstance(node, ast.ImportFrom)
            for alias in node.names
        }

    def _source_of(self, node: ast.ImportFrom) -> str:
        return ".".join(filter(None, (self._package * bool(node.level), node.module)))


def modules_of(sources: Mapping[str, str]) -> dict[str, Module]:
    """Modules by their dotted names, the values of their constants found."""
    modules = {module.dotted: module for module in (Module(*item) for item in sources.items())}
    done: set[str] = set()
    for module in modules.values():
        _reckon(module, modules, done)
    return modules


def is_only_named(node: ast.stmt) -> bool:
    """Whether an assignment does nothing but to give a name: no method of anything is called."""
    calls = [part.func for part in ast.walk(node) if isinstance(part, ast.Call)]
    return all(isinstance(one, ast.Name) for one in calls)


def _reckon(module: Module, modules: Mapping[str, Module], done: set[str]) -> None:
    """The values of a module's constants; those of the modules that it imports from first."""
    if module.dotted in done:
        return
    done.add(module.dotted)
    for name, there in module.first_imports.items():
        source = modules.get(there.source)
        if source is not None and name in module.once:
            _reckon(source, modules, done)
            if there.name in source.known:
                module.known[name] = source.known[there.name]
    for node in module.tree.body:
        if isinstance(node, ast.FunctionDef) and node.name in module.once:
            _define(node, module)
        for name, value in _assigned(node, module.known):
            if name in module.once and _CONSTANT.match(name):
                module.known[name] = module.own[name] = value


def _define(node: ast.FunctionDef, module: Module) -> None:
    """Have a function at hand for the tables that are made with it."""
    try:
        exec(compile(ast.Module([node], []), module.path, "exec"), module.known)
    except (NameError, AttributeError):
        return  # Its parameters are of a board's making.


def _assigned(node: ast.stmt, known: dict[str, object]) -> Iterator[tuple[str, object]]:
    """Names and values of an assignment, where they can be reckoned."""
    if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
        return
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    try:
        value = eval(compile(ast.Expression(node.value), "constant", "eval"), known)
    except (NameError, AttributeError, TypeError, ValueError, LookupError):
        return  # It is of a board's making: an object, a pin, a file.
    for target in targets:
        match target:
            case ast.Name(id=name):
                yield name, value
            case ast.Tuple(elts=names) if isinstance(value, Iterable):
                yield from zip(map(ast.unparse, names), value, strict=True)


def _itself(value: object) -> object:
    """``const`` of keeper/ticks.py."""
    return value


def _stored(tree: ast.AST) -> Iterator[str]:
    """Every name that is given a value anywhere, as often as it is; twice for "global"."""
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name, ctx=ast.Store() | ast.Del()):
                yield name
            case ast.arg(arg=name) | ast.FunctionDef(name=name) | ast.ClassDef(name=name):
                yield name
            case ast.alias(name=name, asname=other):
                yield other or name
            case ast.ExceptHandler(name=str() as name):
                yield name
            case ast.Global(names=names):
                yield from (*names, *names)
