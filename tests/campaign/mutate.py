"""Small wrong changes to a module of the control package: each is one that a test must catch.

Constants one more and one less, comparisons at their limit, `and` for `or`, `not` left out, sums
for differences, statements left out, returned values; in the tables of rules and states each
cell, and in that of settings each pair that must be in order.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from keeper.cycle import STATES

Change = tuple[str, ast.AST, str]
"""What is changed in words, where, and the text that stands there then."""

AT_THE_LIMIT: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
OTHER_SUM: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.FloorDiv,
}
OTHER_CELL = {
    "ABOVE": "BELOW",
    "BELOW": "ABOVE",
    "WARN": "NIGHT",
    "BY_HAND": "WARN",
    "SHORTEN": "WARN",
    "REFUSE": "NIGHT",
    "RETRY": "NIGHT",
    "NIGHT": "WARN",
    "FLAT": "NIGHT",
    "LOCK": "NIGHT",
    "hand": "noon",
    "noon": "hand",
    "charge": "noon",
    "itself": "hand",
}
"""Another action, side or way to clear a rule, in the place of this one."""


@dataclass(frozen=True)
class Mutant:
    """One wrong change."""

    module: str
    line_number: int
    line: str
    """The line as it stands, without its margin."""
    change: str
    text: str
    """The whole module with it."""
    statement: tuple[int, int]
    """First and last line of the statement in which it is; of one that holds others, its head."""

    def name(self, number: int) -> str:
        """Module, line, number among the changes of this line, and the change."""
        return f"{self.module}/{self.line_number}/{number}/{self.change}"


def mutants_of(path: Path) -> dict[str, Mutant]:
    """All mutants of a module, by name, in the order of its lines."""
    source = path.read_text(encoding="utf-8")
    lines = source.splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line.encode()))
    raw = source.encode()
    tree = ast.parse(source)
    found: dict[str, Mutant] = {}
    on_line: dict[int, int] = {}
    for change, node, text in _changes(tree, path.stem):
        begin = starts[node.lineno - 1] + node.col_offset
        end = starts[node.end_lineno - 1] + node.end_col_offset
        whole = (raw[:begin] + text.encode() + raw[end:]).decode()
        number = on_line[node.lineno] = on_line.get(node.lineno, 0) + 1
        shown = lines[node.lineno - 1].strip()
        around = _statement(tree, node.lineno)
        mutant = Mutant(path.stem, node.lineno, shown, change, whole, around)
        found[mutant.name(number)] = mutant
    return found


def _statement(tree: ast.Module, line: int) -> tuple[int, int]:
    found = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or 0)
    ]
    inner = max(found, key=lambda node: node.lineno)
    body = getattr(inner, "body", None)
    last = body[0].lineno - 1 if body else inner.end_lineno or line
    return min(inner.lineno, line), max(last, line)


def _changes(tree: ast.Module, module: str) -> Iterator[Change]:
    tables = _tables(tree, module)
    in_tables = {id(node) for table in tables for node in ast.walk(table)}
    for table in tables:
        yield from _cells(table, module)
    for node in ast.walk(tree):
        if id(node) in in_tables and module != "settings":
            continue
        yield from _expressions(node)
        yield from _statements(node)


def _expressions(node: ast.AST) -> Iterator[Change]:
    if isinstance(node, ast.Constant) and type(node.value) is int:
        for value in (node.value + 1, node.value - 1):
            yield f"const {node.value}->{value}", node, f"({value})" if value < 0 else str(value)
    elif isinstance(node, ast.Constant) and type(node.value) is bool:
        yield f"const {node.value}->{not node.value}", node, str(not node.value)
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in AT_THE_LIMIT:
        other = AT_THE_LIMIT[type(node.ops[0])]
        yield _named("cmp", node.ops[0], other), node, _with(node, ops=[other(), *node.ops[1:]])
    elif isinstance(node, ast.BoolOp):
        either = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield _named("bool", node.op, either), node, f"({_with(node, op=either())})"
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not left out", node, f"({ast.unparse(node.operand)})"
    elif isinstance(node, ast.BinOp) and type(node.op) in OTHER_SUM:
        sign = OTHER_SUM[type(node.op)]
        yield _named("bin", node.op, sign), node, f"({_with(node, op=sign())})"


def _named(kind: str, was: ast.AST, other: type) -> str:
    return f"{kind} {type(was).__name__}->{other.__name__}"


def _with(node: ast.expr, **changed: object) -> str:
    """The text of an expression with some of its parts changed."""
    fields = {name: getattr(node, name) for name in node._fields}
    return ast.unparse(type(node)(**{**fields, **changed}))


def _statements(node: ast.AST) -> Iterator[Change]:
    """Within functions: what is done left out, and what is returned."""
    if isinstance(node, ast.FunctionDef):
        for inner in ast.walk(node):
            if isinstance(inner, ast.Assign | ast.AugAssign) or _is_call(inner):
                yield f"delete stmt: {_short(inner)}", inner, "pass"
            elif isinstance(inner, ast.Return) and inner.value is not None:
                if ast.unparse(inner.value) != "0":
                    yield "return 0", inner, "return 0"


def _is_call(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)


def _short(node: ast.AST) -> str:
    text = ast.unparse(node).replace('"', "'")
    return text if len(text) <= 48 else f"{text[:45]}..."


def _tables(tree: ast.Module, module: str) -> list[ast.AST]:
    wanted = {"rules": ("RULES",), "cycle": ("TABLE",), "settings": ("ORDER",)}.get(module, ())
    found: list[ast.AST] = []
    for node in tree.body:
        target = node.target if isinstance(node, ast.AnnAssign) else None
        if isinstance(node, ast.Assign):
            target = node.targets[0]
        if isinstance(target, ast.Name) and target.id in wanted:
            assert isinstance(node, ast.Assign | ast.AnnAssign)
            assert node.value is not None
            found.append(node.value)
    return found


def _cells(table: ast.AST, module: str) -> Iterator[Change]:
    assert isinstance(table, ast.Tuple)
    for row in table.elts:
        assert isinstance(row, ast.Tuple)
        if module == "cycle":
            yield from _states(row)
        elif module == "rules":
            yield from _rule(row)
        else:
            smaller, larger = (ast.literal_eval(cell) for cell in row.elts)
            yield f"ORDER row dropped {smaller}<{larger}", row, '("no", "no")'


def _states(row: ast.Tuple) -> Iterator[Change]:
    event, cells = row.elts
    assert isinstance(event, ast.Constant)
    assert isinstance(cells, ast.Tuple)
    for place, cell in enumerate(cells.elts):
        assert isinstance(cell, ast.Constant)
        other = "." if cell.value != "." else "idle" if STATES[place] != "idle" else "done"
        yield f"{event.value}[{place}] {cell.value}->{other}", cell, f'"{other}"'


def _rule(row: ast.Tuple) -> Iterator[Change]:
    name, _, side, limit, hold, states, after, action, tries, then, cleared = row.elts[:11]
    needs, causes = row.elts[11:]
    assert isinstance(name, ast.Constant)
    rule = name.value
    for column, cell in (("side", side), ("action", action), ("then", then)):
        assert isinstance(cell, ast.Name)
        other = OTHER_CELL[cell.id]
        yield f"{rule}: {column} {cell.id}->{other}", cell, other
    assert isinstance(cleared, ast.Constant)
    other = OTHER_CELL[cleared.value]
    yield f"{rule}: cleared by {cleared.value}->{other}", cleared, f'"{other}"'
    for column, cell in (("limit", limit), ("hold", hold), ("after", after), ("tries", tries)):
        assert isinstance(cell, ast.Constant)
        if isinstance(cell.value, int):
            yield f"{rule}: {column} {cell.value}->{cell.value + 1}", cell, str(cell.value + 1)
        else:
            yield f"{rule}: {column} {cell.value}->0", cell, "0"
    assert isinstance(states, ast.Constant)
    assert isinstance(needs, ast.Constant)
    assert isinstance(causes, ast.Constant)
    watched = states.value.split()
    for state in watched:
        left = " ".join(one for one in watched if one != state)
        yield f"{rule}: not watched in {state}", states, f'"{left}"'
    if needs.value:
        yield f"{rule}: needs nothing", needs, '""'
    waited_for = [cause for cause in causes.value.split(", ") if cause]
    for cause in waited_for:
        left = ", ".join(one for one in waited_for if one != cause)
        yield f"{rule}: does not give way to {cause}", causes, f'"{left}"'
