"""The tests of the control package, read once, and a child of that process for each mutant.

It is a process of its own: a line of JSON in is a mutant, a line out the first test that fails.

A mutant that changes functions is put into the modules that are loaded. Its module's own tests
come first; then, of all the others that run the changed line, those that have caught most, then
the quick ones. Which test runs which line is measured once for a state of the tree and kept. A
mutant that changes a table or a constant, of which others may hold what they made of it, has all
modules loaded anew, those tests first that bear the module's name.
"""

import json
import os
import re
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any, TextIO

import pytest
from _pytest.runner import runtestprotocol

from tests.campaign.kept import FOLDER, ROOT, tree_of
from tests.campaign.swap import Stands, changed_functions, put

KEEPER = ROOT / "firmware" / "keeper"
TESTS = ROOT / "tests" / "keeper"
SLOW = ("naps", "properties", "tick_wrap", "plan", "clearing", "facts", "rules", "clockwatch")
"""Files of tests that take longest, the longest first; the rest takes seconds."""
NUMBERS = "numbers"
"""The file that holds each private constant to the module that it comes from: it takes no time."""
WORDS = ("-x", "-q", "-s", "-n", "0", "-p", "no:cacheprovider", "--tb=no")
CIRCLE_S, CIRCLE_TIMES = 10.0, 20.0
"""A test that takes so long and so many times its time [processor s] turns in a circle."""
CIRCLE = "turns in a circle"
UNREADABLE = "cannot be imported"
MADE_OF = ("firmware/keeper", "tests/keeper")


def in_order(module: str) -> list[Path]:
    """The files of tests: that of the numbers, the module's own, the quick, the slow."""
    files = {path.stem.removeprefix("test_"): path for path in TESTS.glob("test_*.py")}
    slow = [name for name in reversed(SLOW) if name in files]
    own = sorted(name for name in files if is_own(name, module))
    quick = sorted(files.keys() - {*slow, *own, NUMBERS})
    rest = (*quick, *(name for name in slow if name not in own))
    return [files[name] for name in (NUMBERS, *own, *rest)]


def is_own(name: str, module: str) -> bool:
    """Whether a file of tests bears a module's name."""
    return module in name


def in_child(work: Callable[[], Any]) -> Any:
    """What some work gives in a child of this process; CIRCLE where it is ended for its time."""
    ours, theirs = os.pipe()
    child = os.fork()
    if not child:
        os.close(ours)
        try:
            answer = work()
        except BaseException as error:
            answer = f"fell over: {error!r}"
        with open(theirs, "w", encoding="utf-8") as out:
            json.dump(answer, out)
        os._exit(0)
    os.close(theirs)
    with open(ours, encoding="utf-8") as back:
        said = back.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGPROF:
        return CIRCLE
    return json.loads(said)


def fails(item: pytest.Item, allowed_s: float) -> bool:
    """Whether a test fails; a process that takes longer [processor s] is ended."""
    signal.setitimer(signal.ITIMER_PROF, allowed_s)
    return any(report.failed for report in runtestprotocol(item, nextitem=None, log=False))


class Lines:
    """Which test runs which line, and how long each takes."""

    def __init__(self, items: list[pytest.Item], folder: Path = FOLDER) -> None:
        self._items = items
        path = folder / "keeper_lines.json"
        tree = tree_of(MADE_OF)
        kept = json.loads(path.read_text()) if path.exists() else {}
        if kept.get("tree") != tree or len(kept["seconds"]) != len(items):
            kept = {"tree": tree, **in_child(self._measure)}
            folder.mkdir(exist_ok=True)
            path.write_text(json.dumps(kept))
        self.seconds: list[float] = kept["seconds"]
        self._by_line: dict[str, dict[str, str]] = kept["lines"]
        self._always = [n for n, item in enumerate(items) if item.get_closest_marker("no_cover")]

    def _measure(self) -> dict[str, Any]:
        from coverage import Coverage  # Only a child traces.

        cover = Coverage(data_file=None, include=[f"{KEEPER}/*"], config_file=False)
        cover.start()
        seconds = []
        for number, item in enumerate(self._items):
            cover.switch_context(str(number))
            begun_s = time.process_time()
            if fails(item, 0.0):
                raise RuntimeError(f"{item.nodeid} fails in the sound tree")
            seconds.append(round(time.process_time() - begun_s, 4))
        cover.stop()
        data = cover.get_data()
        return {
            "seconds": seconds,
            "lines": {
                Path(file).stem: {
                    str(line): hex(sum(1 << int(number) for number in set(numbers) if number))
                    for line, numbers in data.contexts_by_lineno(file).items()
                }
                for file in data.measured_files()
            },
        }

    def runners(self, module: str, first: int, last: int) -> list[int]:
        """The tests that run one of these lines, the quickest first, and those not traced."""
        lines = self._by_line.get(module, {})
        bits = 0
        for line in range(first, last + 1):
            bits |= int(lines.get(str(line), "0"), 16)
        found = {number for number in range(len(self._items)) if bits >> number & 1}
        if not found:
            return []
        found.update(self._always)
        return sorted(found, key=self.seconds.__getitem__)


class Nursery:
    """As a plugin of pytest: in the place of running the tests it answers mutants."""

    def __init__(self, answers: TextIO) -> None:
        self._answers = answers
        self._items: list[pytest.Item] = []
        self._lines: Lines | None = None
        self._caught: dict[str, Counter[int]] = {}
        self._at_import: set[tuple[str, str]] = set()
        """File and name of functions that build what a module holds: their change is anew's."""
        sys.setprofile(self._note)

    def _note(self, frame: FrameType | None, event: str, _: object) -> None:
        """Of each call while the tests are read."""
        assert frame is not None
        code = frame.f_code
        if event != "call" or not code.co_filename.startswith(str(KEEPER)):
            return
        while frame is not None and frame.f_code.co_name != "<module>":
            frame = frame.f_back
        if frame is not None and frame.f_code.co_filename.startswith(str(KEEPER)):
            self._at_import.add((code.co_filename, code.co_qualname))

    @pytest.hookimpl
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Until no more is asked."""
        sys.setprofile(None)
        self._items = session.items
        for asked in sys.stdin:
            answer = self.caught_by(**json.loads(asked))
            print(json.dumps(answer), file=self._answers, flush=True)
        return True

    def caught_by(self, module: str, first: int, last: int, text: str) -> str:
        """The first test that fails with this text of a module, changed in these lines; or ""."""
        path = KEEPER / f"{module}.py"
        name = "keeper" if module == "__init__" else f"keeper.{module}"
        was = compile(path.read_text(encoding="utf-8"), str(path), "exec", dont_inherit=True)
        now = compile(text, str(path), "exec", dont_inherit=True)
        functions = changed_functions(was, now)
        stands = Stands(name, path, text)
        if (
            functions is None
            or name not in sys.modules
            or any((str(path), function) in self._at_import for function in functions)
        ):
            return str(in_child(lambda: anew(stands, module)))

        def try_these(numbers: list[int]) -> Any:
            def work() -> int:
                stands.first()
                put(sys.modules[name], functions)
                return next((n for n in numbers if fails(self._items[n], self._allowed_s(n))), -1)

            return in_child(work) if numbers else -1

        own = [n for n, item in enumerate(self._items) if is_own(item.path.stem, module)]
        found = try_these(own)
        if found == -1:
            lines = self._lines = self._lines or Lines(self._items)
            runners = lines.runners(module, first, last)
            caught = self._caught.setdefault(module, Counter())
            often = [number for number, _ in caught.most_common(20) if number in runners]
            rest = [n for n in runners if n not in own and n not in often]
            found = try_these([n for n in often if n not in own] + rest)
            if isinstance(found, int) and found >= 0:
                caught[found] += 1
        if not isinstance(found, int):
            return str(found)
        return self._items[found].nodeid if found >= 0 else ""

    def _allowed_s(self, number: int) -> float:
        """Of a test that was not measured yet: as one of the slow ones."""
        took_s = self._lines.seconds[number] if self._lines else CIRCLE_S
        return CIRCLE_S + CIRCLE_TIMES * took_s


def anew(stands: Stands, module: str) -> str:
    """The first test that fails with all modules of the control package loaded anew."""
    for name in list(sys.modules):
        if re.match(r"(keeper|tests\.keeper)(\.|$)", name):
            del sys.modules[name]
    stands.first()
    files = in_order(module)
    first = 1 + sum(is_own(path.stem, module) for path in files)
    for some in (files[:first], files[first:]):
        seen = First()
        status = pytest.main([*WORDS, *map(str, some)], plugins=[seen]) if some else 0
        if status:
            return seen.failed or UNREADABLE
    return ""


class First:
    """Which test was the first to fail."""

    failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Of each test."""
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_runtest_logstart(self) -> None:
        """A test that turns in a circle is ended with its process."""
        signal.setitimer(signal.ITIMER_PROF, CIRCLE_S + CIRCLE_TIMES * CIRCLE_S)


if __name__ == "__main__":
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # For what pytest and tests say.
    files = map(str, sorted(TESTS.glob("test_*.py")))
    sys.exit(pytest.main([*WORDS, *files], plugins=[Nursery(answers)]))
