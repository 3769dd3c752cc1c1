"""Every bit of the code that checks the firmware, flipped one by one: does it pass itself then?"""

import io
import signal
import warnings
from collections import Counter
from typing import Any

from rillkeeper.board.flash.firmware import File, listing
from tests.interpreters import rigs

CHECKER = "lib/device/manifest.py"
_PATIENCE_S = 0.3


class Held:
    """Files in memory with the face of ``device.files.Files``."""

    def __init__(self, files: dict[str, bytes]) -> None:
        self.files = files

    def open(self, path: str, mode: str) -> io.BytesIO:
        if path not in self.files:
            raise OSError(2, path)
        return io.BytesIO(self.files[path])

    def names(self, folder: str) -> list[str]:
        lead = f"{folder}/" if folder else ""
        below = [path.removeprefix(lead) for path in self.files if path.startswith(lead)]
        return sorted({path.split("/")[0] for path in below})

    def read(self, path: str) -> bytes | None:
        return self.files.get(path)


def sweep(every: int = 1) -> Counter[str]:
    """What came of each n-th bit: "named", "other trouble", "does not run" or "passes"."""
    source = (rigs.FIRMWARE / "device/manifest.py").read_bytes()
    others = [File("boot.py", b"1"), File("lib/device/lamp.py", b"2")]
    files = {file.path: file.data for file in others}
    files["manifest.txt"] = listing([*others, File(CHECKER, source)]).encode()
    found: Counter[str] = Counter()
    before = signal.signal(signal.SIGALRM, _give_up)
    try:
        for number in range(0, 8 * len(source), every):
            damaged = bytearray(source)
            damaged[number // 8] ^= 1 << number % 8
            found[_verdict(bytes(damaged), files)] += 1
    finally:
        signal.signal(signal.SIGALRM, before)
    return found


def _verdict(source: bytes, files: dict[str, bytes]) -> str:
    signal.setitimer(signal.ITIMER_REAL, _PATIENCE_S)
    try:
        names: dict[str, Any] = {}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            exec(compile(source, CHECKER, "exec"), names)
        held = Held({**files, CHECKER: source})
        trouble = next((said for said in names["troubles"](held) if said), "")
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        return "does not run"
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    if not trouble:
        return "passes"
    return "named" if trouble.startswith(CHECKER) else "other trouble"


def _give_up(number: int, frame: Any) -> None:
    raise TimeoutError
