"""Numbers that a module writes down again, since a private constant costs a board nothing where
a name of another module is looked up each time: they are those of the module that they come from.
"""

import ast
from importlib.abc import InspectLoader
from importlib.util import find_spec
from pathlib import Path

import pytest

import keeper
from keeper import cycle, facts, quantities, relay, ticks
from keeper import line as keeper_line

KEEPER = Path(keeper.__file__).parent
MODULES = sorted([*KEEPER.glob("*.py"), *(KEEPER.parent / "device").glob("*.py")])
HEADING = "# The numbers of {}.\n"
SOURCES = {f"{module.__name__.split('.')[-1]}.py": module for module in (cycle, quantities)}
ALONE = {"_MASK": ticks.MASK, "_GAP_MS_MAX": facts.GAP_MS_MAX, "_RENEW_MS": relay.RENEW_MS}
ALONE["_PRIMED_HOLD_MS"] = keeper_line._PRIMED_HOLD_MS


def text_of(path: Path) -> str:
    """As it is imported: a changed module may stand in the place of its file."""
    package = path.parent.name
    name = package if path.stem == "__init__" else f"{package}.{path.stem}"
    spec = find_spec(name)
    assert spec is not None
    assert isinstance(spec.loader, InspectLoader)
    return spec.loader.get_source(name) or ""


def copied(text: str, heading: str) -> dict[str, int]:
    """The constants of the block under a heading."""
    if heading not in text:
        return {}
    block = text.split(heading)[1].split("#")[0].split("\n\n")[0]
    found = {}
    for statement in ast.parse(block).body:
        assert isinstance(statement, ast.Assign)
        assert isinstance(statement.targets[0], ast.Name)
        assert isinstance(statement.value, ast.Call)
        found[statement.targets[0].id] = eval(ast.unparse(statement.value.args[0]))
    return found


@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("path", MODULES, ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_what_is_written_down_again_is_the_same(path: Path, source: str) -> None:
    again = copied(text_of(path), HEADING.format(source))
    assert again == {name: getattr(SOURCES[source], name[1:]) for name in again}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_so_is_what_stands_alone(path: Path) -> None:
    for name, number in ALONE.items():
        for line in text_of(path).splitlines():
            if line.startswith(name + " = const("):
                assert eval(line.split("const")[1]) == number, name


def test_every_state_and_quantity_is_written_down_again_somewhere() -> None:
    """So the tests above have looked at something."""
    for source, module in SOURCES.items():
        seen = [set(copied(text_of(path), HEADING.format(source))) for path in MODULES]
        names = module.STATES if module is cycle else module.QUANTITIES
        assert len(set().union(*seen)) > len(names) // 2
