"""A changed module put in the place of one that is loaded: only where functions changed inside."""

import importlib.util
import sys
from collections.abc import Iterator, Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from inspect import CO_OPTIMIZED
from pathlib import Path
from types import CodeType, ModuleType

Changed = dict[str, CodeType]
"""Dotted name of a function within its module, and the code that it is to have."""


def changed_functions(was: CodeType, now: CodeType, within: str = "") -> Changed | None:
    """The functions whose code differs; None where anything outside functions does.

    >>> was = compile("A = 1\\ndef f(): return A\\ndef g(): return 2", "m", "exec")
    >>> now = compile("A = 1\\ndef f(): return A\\ndef g(): return 3", "m", "exec")
    >>> list(changed_functions(was, now))
    ['g']
    >>> changed_functions(was, compile("A = 2", "m", "exec"))
    """
    if _frame(was) != _frame(now):
        return None
    found: Changed = {}
    for old, new in zip(_codes(was), _codes(now), strict=True):
        name = within + old.co_name
        if new.co_flags & CO_OPTIMIZED:
            if old != new:
                found[name] = new
            continue
        inner = changed_functions(old, new, f"{name}.")
        if inner is None:
            return None
        found |= inner
    return found


def _frame(code: CodeType) -> tuple[object, ...]:
    """All of a module's or a class's code but what its functions do."""
    consts = [const.co_name if isinstance(const, CodeType) else const for const in code.co_consts]
    return code.co_code, code.co_names, list(map(repr, consts))


def _codes(code: CodeType) -> Iterator[CodeType]:
    return (const for const in code.co_consts if isinstance(const, CodeType))


def put(module: ModuleType, functions: Changed) -> None:
    """Give the functions of a loaded module other code: whoever holds them runs it."""
    for name, code in functions.items():
        *owners, last = name.split(".")
        owner: object = module
        for each in owners:
            owner = getattr(owner, each)
        function = vars(owner)[last]
        function = getattr(function, "fget", getattr(function, "__func__", function))
        function.__code__ = code


class Stands(MetaPathFinder, SourceFileLoader):
    """Loads one module from another text than its file's, whenever it is imported."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        super().__init__(name, str(path))
        self._text = text

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """That of the one module."""
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self.path, loader=self)

    def get_data(self, path: str) -> bytes:
        """The other text, for whoever reads the module."""
        return self._text.encode()

    def get_code(self, fullname: str) -> CodeType:
        """The other text, compiled."""
        return compile(self._text, self.path, "exec", dont_inherit=True)

    def first(self) -> None:
        """From now on."""
        sys.meta_path.insert(0, self)
