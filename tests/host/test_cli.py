"""The command: what it prints where, and the status that it leaves behind."""

import json
import os
import re
import signal
import subprocess
import sys
import types
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

import rillkeeper
from rillkeeper import errors
from rillkeeper.cli import LATER, cli
from rillkeeper.commands.fault_option import parse_fault
from rillkeeper.screen import console
from rillkeeper.site.file import DEMO
from rillkeeper.site.template import commented_template
from tests.patience import CEILING_S

ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join(path for path in sys.path if path),
    "PYTHONIOENCODING": "ascii",
}
COMMAND = [sys.executable, "-m", "rillkeeper"]


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, args, prog_name="rillkeeper")


def stand_in(monkeypatch: pytest.MonkeyPatch, error: BaseException | None) -> None:
    """A command that fails in one way, in the place of one that is loaded late."""

    @click.command()
    def probe() -> None:
        if error is not None:
            raise error
        click.echo("ran")

    module = types.ModuleType("rillkeeper.probe")
    module.probe = probe  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "rillkeeper.probe", module)
    monkeypatch.setitem(LATER, "probe", ("rillkeeper.probe", "A stand-in."))


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (None, 0),
        (errors.RillkeeperError("the work failed"), 1),
        (errors.UsageMistake("the line makes no sense"), 2),
        (errors.NoBoard("no board"), 3),
        (errors.BoardStopped("dead head on night 3"), 4),
        (errors.VerifyDiffers("byte 7 differs"), 5),
        (errors.SiteError("a.toml", [errors.Mistake("line.bore", "", "gone")]), 6),
        (KeyboardInterrupt(), 130),
    ],
)
def test_each_error_has_its_status(
    monkeypatch: pytest.MonkeyPatch, error: BaseException | None, status: int
) -> None:
    stand_in(monkeypatch, error)
    result = run("probe")
    assert result.exit_code == status
    assert "Traceback" not in result.stderr
    if error is None:
        assert (result.stdout, result.stderr) == ("ran\n", "")
    else:
        assert result.stdout == ""
        text = str(error) or "interrupted"
        assert result.stderr.strip() == f"rillkeeper: {text}"
    assert f"{status}  " in run("--help").stdout


def test_a_fault_of_our_own_is_one_line_and_a_traceback_only_with_debug(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stand_in(monkeypatch, ZeroDivisionError("division by zero"))
    quiet = run("probe")
    assert quiet.exit_code == 1
    assert quiet.stderr.count("\n") == 1
    assert "ZeroDivisionError: division by zero" in quiet.stderr
    loud = run("--debug", "probe")
    assert loud.exit_code == 1
    assert "Traceback" in loud.stderr


def test_debug_shows_no_traceback_for_a_mistake_on_the_line() -> None:
    result = run("--debug", "site", "check", "nowhere.toml")
    assert result.exit_code == 2
    assert "Traceback" not in result.stderr


def test_version() -> None:
    result = run("--version")
    assert (result.exit_code, result.stdout) == (0, f"rillkeeper {rillkeeper.__version__}\n")


def test_help_lists_late_commands_without_loading_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(LATER, "absent", ("rillkeeper.absent", "Not there."))
    result = run("--help")
    assert result.exit_code == 0
    assert "Not there." in result.stdout
    assert "Replay a week of nights" in result.stdout


@pytest.mark.parametrize("args", [("wek",), ("--colour",), ("site", "check")])
def test_usage(args: tuple[str, ...]) -> None:
    """One line: what is wrong, and where the help is."""
    result = run(*args)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert re.fullmatch(r"rillkeeper: .+; see `rillkeeper[a-z ]* --help`\n", result.stderr)


def test_group_without_a_command_shows_its_help() -> None:
    result = run("site")
    assert result.exit_code == 2
    assert "Usage: rillkeeper site" in result.stderr


def test_check_of_the_demonstration() -> None:
    result = run("site", "check", str(DEMO))
    assert result.exit_code == 0, result.stderr
    assert result.stdout.startswith("site.toml: no mistakes\n")
    assert "10.7 m x 12.2 m" in result.stdout
    assert result.stderr == ""


def test_check_lists_all_mistakes_on_stderr(tmp_path: Path) -> None:
    path = tmp_path / "plot.toml"
    path.write_text(commented_template(), encoding="utf-8")
    result = run("site", "check", str(path))
    assert result.exit_code == 6
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert lines[0] == "rillkeeper: plot.toml: 7 mistakes"
    assert len(lines) == 8
    line = commented_template().split("\npressure =")[0].count("\n") + 2
    assert lines[2] == f'  line {line}: board.pressure = "?": not one of the names; ' + (
        'allowed: "fitted" or "not fitted"'
    )


def test_check_as_json(tmp_path: Path) -> None:
    good = run("site", "check", str(DEMO), "--json")
    assert good.exit_code == 0
    assert json.loads(good.stdout) == {"schema": 1, "file": "site.toml", "mistakes": []}
    path = tmp_path / "plot.toml"
    path.write_text("[water]\nlift = 3\n", encoding="utf-8")
    bad = run("site", "check", str(path), "--json")
    assert bad.exit_code == 6
    document = json.loads(bad.stdout)
    assert len(document["mistakes"]) == 8
    assert document["mistakes"][0] == {
        "path": "water.lift",
        "read": "3",
        "problem": "the unit is missing",
        "allowed": 'a text with its unit, such as "0.3 m"',
        "nearest": "",
        "line": 2,
        "default": "",
    }


def test_new_prints_or_writes_and_never_writes_over(tmp_path: Path) -> None:
    assert run("site", "new", "--units", "us").stdout == commented_template("us")
    path = tmp_path / "plot.toml"
    assert run("site", "new", str(path)).exit_code == 0
    assert path.read_text(encoding="utf-8") == commented_template()
    path.write_text("mine", encoding="utf-8")
    again = run("site", "new", str(path))
    assert again.exit_code == 1
    assert "is there already" in again.stderr
    assert path.read_text(encoding="utf-8") == "mine"
    nowhere = run("site", "new", str(tmp_path / "no" / "plot.toml"))
    assert nowhere.exit_code == 1
    assert "cannot be written" in nowhere.stderr


def test_no_color_by_option_and_by_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []

    @click.command()
    def probe() -> None:
        seen.append((click.get_current_context().color, console(err=True).no_color))

    stand_in(monkeypatch, None)
    monkeypatch.setattr(sys.modules["rillkeeper.probe"], "probe", probe)
    monkeypatch.delenv("NO_COLOR", raising=False)
    run("probe")
    run("--no-color", "probe")
    monkeypatch.setenv("NO_COLOR", "1")
    run("probe")
    assert seen == [(None, False), (False, True), (False, True)]


def test_a_misspelt_fault_leaves_2(monkeypatch: pytest.MonkeyPatch) -> None:
    @click.command()
    def probe() -> None:
        parse_fault("outlet_shutt@3")

    stand_in(monkeypatch, None)
    monkeypatch.setattr(sys.modules["rillkeeper.probe"], "probe", probe)
    result = run("probe")
    assert result.exit_code == 2
    assert result.stderr == (
        'rillkeeper: no fault is called "outlet_shutt"; nearest: outlet_shut\n'
    )


@pytest.mark.parametrize(
    ("content", "args", "status"),
    [
        (None, ["--version"], 0),
        (None, ["site", "new", "{file}"], 0),
        ("", ["site", "new", "{file}"], 1),
        (None, ["site", "check", "{file}"], 2),
        (None, ["no-such-command"], 2),
        ("", ["site", "check", "{file}"], 6),
        ("[water", ["site", "check", "{file}"], 6),
        ('name = "\N{GREEK SMALL LETTER PI}"\n', ["site", "check", "{file}"], 6),
    ],
)
def test_status_of_the_real_process(
    tmp_path: Path, content: str | None, args: list[str], status: int
) -> None:
    path = tmp_path / "plot.toml"
    if content is not None:
        path.write_text(content, encoding="utf-8")
    command = COMMAND + [arg.replace("{file}", str(path)) for arg in args]
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=CEILING_S, env=ENVIRONMENT
    )
    assert done.returncode == status, done.stderr
    assert "Traceback" not in done.stderr
    assert bool(done.stdout) == (status == 0)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX signal and a named pipe")
def test_an_interrupted_process_leaves_130(tmp_path: Path) -> None:
    path = tmp_path / "plot.toml"
    os.mkfifo(path)
    with subprocess.Popen(
        [*COMMAND, "site", "check", str(path)], stderr=subprocess.PIPE, env=ENVIRONMENT
    ) as process:
        assert process.stderr is not None
        with path.open("wb"):  # Opens once the command waits for the file's content.
            process.send_signal(signal.SIGINT)
            assert process.wait(30) == 130
        assert process.stderr.read().strip() == b"rillkeeper: interrupted"
