"""The virtual board: the whole firmware in a MicroPython interpreter, in place of ``board.Board``.

The interpreter runs boot.py and main.py from a flash image. Over two pipes it is handed time,
clock, converter counts and pin levels, and says how it leaves the relay pin and how long it
means to sleep: the same seam as a real board's, and in lock-step with the plant.
"""

import os
import select
import struct
import subprocess
import tempfile
from pathlib import Path
from types import TracebackType
from typing import IO

from keeper.ticks import MASK
from rillsim.boards.board import TICK_MS

INPUTS = struct.Struct("<IIIBB4h")
OUTPUTS = struct.Struct("<BI")
"""As in firmware/virtual/chips.py, which says what they hold."""

LOAD_ON, RAIN, BUTTON, USB_POWER = 1, 2, 4, 8

RESET_EXIT = 75
PATIENCE_S = 30.0
"""Real time that the firmware may take over one step before it counts as hung."""


class BoardStopped(RuntimeError):
    """The firmware has ended by itself, or hangs; the message ends with what it printed last."""


def firmware_files(firmware: Path) -> dict[str, Path]:
    """What is copied to a board: path there, and the source."""
    files = {name: firmware / name for name in ("boot.py", "main.py")}
    for package in ("keeper", "device"):
        # Sources, or what mpy-cross made of them.
        for source in sorted((firmware / package).glob("*.*py")):
            files[f"lib/{package}/{source.name}"] = source
    return files


class VirtualBoard:
    """One board with its flash; a context manager, since an interpreter runs behind it."""

    def __init__(
        self,
        micropython: Path,
        firmware: Path,
        folder: Path,
        settings: dict[str, int] | None,
        *,
        first_ms: int = 0,
        clock_chip: bool = True,
        serial: int | None = None,
    ) -> None:
        """A board with new flash.

        Parameters
        ----------
        micropython : Path
            The interpreter (unix port)
        firmware : Path
            The firmware's folder
        folder : Path
            Where the flash image is put
        settings : dict, optional
            Written to the flash; None for a board that was never set
        first_ms : int
            What its millisecond counter shows at tick 0
        clock_chip : bool
            Whether a clock chip with its own cell is fitted
        serial : int, optional
            An open terminal or socket for its serial line; a host is then attached
        """
        self.image = folder / "flash.img"
        self.steps = 0
        self.restarts = 0
        """How often the board has reset itself."""
        self.usb_power = False
        """Whether a USB host powers the board: it then does not nap."""
        self._micropython = micropython
        self._firmware = firmware
        self._first_ms = first_ms
        self._chip = clock_chip
        self._serial = serial
        self._sleep_ms = 0
        self._process: subprocess.Popen[bytes] | None = None
        self._printed: IO[bytes] = tempfile.TemporaryFile()
        self._to_board = self._from_board = -1
        self._make_flash(folder, settings)

    def __enter__(self) -> "VirtualBoard":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.power_off()
        self._printed.close()

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        """One tick with power; returns the level at which the relay pin is left."""
        day, second, known = clock
        battery_n, pressure_n, load_on, contacts, frost_n, current_n = counts
        pins = (LOAD_ON if load_on else 0) + (contacts & 1) * RAIN + (contacts >> 1 & 1) * BUTTON
        pins += USB_POWER if self.usb_power else 0
        now_ms = (n * TICK_MS + self._first_ms) & MASK
        word = INPUTS.pack(
            now_ms, day, second, known, pins, battery_n, pressure_n, frost_n, current_n
        )
        self.steps += 1
        answer = self._exchange(word)
        if answer is None:
            self.restarts += 1
            answer = self._exchange(word)
        if answer is None:
            raise BoardStopped(f"it resets itself again at once; {self.printed()}")
        level, self._sleep_ms = answer
        return level

    def nap_ticks(self) -> int:
        """How many ticks it may be left alone if no pin changes."""
        return max(1, -(-self._sleep_ms // TICK_MS))

    def power_off(self) -> None:
        """The supply is gone: the interpreter is stopped where it stands."""
        process = self._process
        if process is None:
            return
        process.kill()
        process.wait()
        os.close(self._to_board)
        os.close(self._from_board)
        self._process = None

    def power_back(self) -> None:
        """Power is there again after a loss: the next step starts it from its flash."""
        self.power_off()

    @property
    def log(self) -> list[str]:
        """The lines of the log on its flash."""
        return self._run("read_log.py", str(self.image)).splitlines()

    def printed(self) -> str:
        """The end of what the board printed, where no serial line was given."""
        self._printed.seek(0)
        return self._printed.read()[-2000:].decode(errors="replace")

    def _exchange(self, word: bytes) -> tuple[int, int] | None:
        """Hand over the inputs and wait for the answer; None when the board has reset itself."""
        if self._process is None:
            self._start()
        answer = b""
        try:
            os.write(self._to_board, word)
            ready, _, _ = select.select([self._from_board], [], [], PATIENCE_S)
            if not ready:
                raise BoardStopped(f"no answer within {PATIENCE_S:.0f} s; {self.printed()}")
            answer = os.read(self._from_board, OUTPUTS.size)
        except BrokenPipeError:
            pass
        if len(answer) == OUTPUTS.size:
            level, sleep_ms = OUTPUTS.unpack(answer)
            return level, sleep_ms
        assert self._process is not None
        status = self._process.wait()
        self.power_off()
        if status == RESET_EXIT:
            return None
        raise BoardStopped(f"the firmware ended with status {status}; {self.printed()}")

    def _start(self) -> None:
        child_in, self._to_board = os.pipe()
        self._from_board, child_out = os.pipe()
        self._process = subprocess.Popen(
            [
                *self._command("start.py"),
                str(self.image),
                str(child_in),
                str(child_out),
                "1" if self._chip else "0",
            ],
            env=self._environment(),
            stdin=subprocess.DEVNULL if self._serial is None else self._serial,
            stdout=self._printed if self._serial is None else self._serial,
            stderr=self._printed,
            pass_fds=(child_in, child_out),
        )
        os.close(child_in)
        os.close(child_out)

    def _make_flash(self, folder: Path, settings: dict[str, int] | None) -> None:
        given = "-"
        if settings is not None:
            path = folder / "settings.txt"
            lines = [f"{key} {settings[key]}" for key in sorted(settings)]
            path.write_text("\n".join(lines), encoding="ascii")
            given = str(path)
        pairs = [f"{path}={source}" for path, source in firmware_files(self._firmware).items()]
        self._run("copy.py", str(self.image), given, *pairs)

    def _run(self, script: str, *words: str) -> str:
        done = subprocess.run(
            [*self._command(script), *words],
            env=self._environment(),
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            raise BoardStopped(f"{script}: {done.stdout[-1000:]}{done.stderr[-1000:]}")
        return done.stdout

    def _command(self, script: str) -> list[str]:
        return [str(self._micropython), str(self._firmware / "virtual" / script)]

    def _environment(self) -> dict[str, str]:
        return {**os.environ, "MICROPYPATH": str(self._firmware)}
