"""The power is cut at every flash operation of a whole flashing: never a mixture."""

from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.board.flash.firmware import listing
from tests.host.board.flash.boardimage import put
from tests.host.board.flash.flashing import NEXT, OLD, flash, say, versions
from tests.host.board.flash.promptboard import PromptBoard
from tests.power import flashcuts
from tests.power.flashcuts import MIXTURE, NEW_WHOLE, OLD_WHOLE, SAYS_SO, Recording, judge

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("flash cuts")]


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return versions(tmp_path_factory.mktemp("versions"))


@pytest.fixture(scope="module")
def recording(need: Callable[[str], Path], folders: tuple[Path, Path]) -> Recording:
    """From the version before to the next."""
    old, new = folders
    before = ["--firmware", str(old)]
    return flashcuts.record(need("micropython"), before, ["--firmware", str(new)])


def test_every_cut(recording: Recording) -> None:
    found = flashcuts.sweep(recording)
    tried = sum(found.values())
    print(f"flashing: {tried - found[MIXTURE]} of {tried} cuts leave no mixture; {dict(found)}")
    assert set(found) == {OLD_WHOLE, SAYS_SO, NEW_WHOLE}
    assert tried > 150
    assert found[OLD_WHOLE] > found[SAYS_SO] / 2, "most of it happens beside the old firmware"


def test_a_mixture_would_be_seen(recording: Recording, tmp_path: Path) -> None:
    """A new module among the old ones, with a list that fits: the verdict can fail."""
    image = tmp_path / "image"
    image.write_bytes(recording.before)
    path = "lib/device/lamp.mpy"
    put(image, path, recording.new[path])
    assert judge(recording, image.read_bytes()) == flashcuts.REFUSES
    files = {**recording.old, path: recording.new[path]}
    del files["manifest.txt"]
    put(image, "manifest.txt", listing(flashcuts.as_files(files)).encode())
    assert judge(recording, image.read_bytes()) == MIXTURE


@pytest.mark.parametrize("verdict", [OLD_WHOLE, SAYS_SO, NEW_WHOLE])
def test_what_a_cut_board_says(
    verdict: str,
    recording: Recording,
    folders: tuple[Path, Path],
    need: Callable[[str], Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The last image of each sort, started in the interpreter; flashing again mends it."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    images = [
        image for _, image in flashcuts.cuts(recording) if judge(recording, image) == verdict
    ]
    (tmp_path / "flash.img").write_bytes(images[-1])
    with PromptBoard(need("micropython"), tmp_path) as board:
        said = say(board, "status")
        if verdict == SAYS_SO:
            assert said.exit_code == 3
            assert "run: rillkeeper flash" in said.stderr
        else:
            assert f"firmware {OLD if verdict == OLD_WHOLE else NEXT}" in said.stdout
            assert "the board does not pump: no settings" in said.stderr
        again = flash(board, "--firmware", str(folders[1]))
        assert again.exit_code == 0, again.stderr
        assert f"runs firmware {NEXT}, every file checked" in again.stdout or (
            verdict == NEW_WHOLE and "nothing to copy" in again.stdout
        )
