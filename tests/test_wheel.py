"""A wheel is enough: built from a copy, installed into an environment of its own, used elsewhere.

The environment sees the libraries of the one that runs the tests, but not the checkout: the path
file that brings them does not read the path file of an editable installation.
"""

import os
import select
import shutil
import signal
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rillkeeper.board.flash.firmware import default_folder, firmware

ROOT = Path(__file__).parents[1]
SOURCES = (
    *("firmware", "sim", "host"),
    *("pyproject.toml", "setup.py", "MANIFEST.in", "README.md", "LICENSE"),
)
PATIENCE_S = 120.0

pytestmark = [pytest.mark.xdist_group("wheel"), pytest.mark.slow]


class Installed:
    """What a wheel has made, and a folder far from the checkout to use it in."""

    def __init__(self, folder: Path) -> None:
        self.programs = folder / "env" / "bin"
        self.place = folder / "elsewhere"
        self.place.mkdir()
        tools = os.pathsep.join((str(Path(sys.executable).parent), os.environ["PATH"]))
        self.environment = {
            **{key: value for key, value in os.environ.items() if key != "PYTHONPATH"},
            "PATH": tools,
            "XDG_DATA_HOME": str(folder / "data"),
        }

    def start(self, program: str, *words: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [self.programs / program, *words],
            cwd=self.place,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )

    def say(self, *words: str, program: str = "rillkeeper", fails: bool = False) -> str:
        process = self.start(program, *words)
        out, err = process.communicate(timeout=PATIENCE_S)
        assert (process.returncode != 0) == fails, out + err
        return out + err


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Installed:
    folder = tmp_path_factory.mktemp("wheel")
    copy = folder / "copy"
    copy.mkdir()
    for name in SOURCES:
        if (ROOT / name).is_dir():
            ignored = shutil.ignore_patterns("__pycache__", "*.egg-info")
            shutil.copytree(ROOT / name, copy / name, ignore=ignored)
        else:
            shutil.copy(ROOT / name, copy / name)
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check"]
    build = ["wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(folder), str(copy)]
    subprocess.run([*pip, *build], check=True, capture_output=True)
    (wheel,) = folder.glob("*.whl")
    environment = folder / "env"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", environment], check=True)
    python = environment / "bin" / "python"
    install = ["--python", str(python), "install", "--no-deps", "--no-index", str(wheel)]
    subprocess.run([*pip, *install], check=True, capture_output=True)
    (site,) = environment.glob("lib/python*/site-packages")
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return Installed(folder)


@pytest.fixture
def board(need: Callable[[str], Path], installed: Installed) -> Iterator[str]:
    """The port of a virtual board that the wheel runs."""
    need("micropython")
    process = installed.start("rillkeeper", "board", "--speed", "20")
    assert process.stdout is not None
    ready, _, _ = select.select([process.stdout], [], [], PATIENCE_S)
    assert ready, "no path was printed"
    yield process.stdout.readline().strip()
    os.killpg(process.pid, signal.SIGINT)
    process.communicate(timeout=PATIENCE_S)


def test_nothing_of_the_checkout_is_used(installed: Installed) -> None:
    where = "import keeper, rillkeeper, rillsim; print(*map(lambda m: m.__file__, "
    where += "(keeper, rillkeeper, rillsim)), sep='\\n')"
    paths = installed.say("-c", where, program="python").splitlines()
    assert len(paths) == 3
    assert all(path.startswith(str(installed.programs.parent)) for path in paths), paths


def test_the_boards_files_are_those_of_the_checkout(installed: Installed) -> None:
    (site,) = installed.programs.parent.glob("lib/python*/site-packages/rillkeeper")
    assert firmware(site / "firmware", False).files == firmware(default_folder(), False).files
    assert not (site.parent / "device").exists(), "would be in the way of other packages"


def test_a_week_and_its_page(installed: Installed) -> None:
    said = installed.say("week", "--nights", "1", "--quick", "--page", "week.html")
    assert "The garden got its full water" in said
    assert "</html>" in (installed.place / "week.html").read_text(encoding="utf-8")


def test_a_site_is_sized(installed: Installed) -> None:
    assert "site.toml" in installed.say("site", "new", "site.toml")
    assert "a charge lasts" in installed.say("size", "--page", "size.html")


def test_every_step_of_the_proof_is_listed(installed: Installed) -> None:
    assert "dead-head" in installed.say("prove", "--list")


@pytest.mark.interpreter
def test_a_board_is_run_asked_and_flashed(installed: Installed, board: str) -> None:
    assert "waiting" in installed.say("status", "--port", board)
    said = installed.say("flash", "--yes", "--port", board)
    assert "every file checked" in said or "nothing to copy" in said
    assert "terminal" in installed.say("prove", "--port", board, fails=True)
