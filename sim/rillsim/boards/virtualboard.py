"""The virtual board: the whole firmware in a MicroPython interpreter, in place of ``board.Board``.

The interpreter runs boot.py and main.py from a flash image. Over two pipes it is handed time,
clock, converter counts and pin levels, and says how it leaves the relay pin and how long it
means to sleep: the same seam as a real board's, and in lock-step with the plant. Where it has a
console, what ends its program leaves the prompt there, and the plant goes on without it.
"""

import os
import select
import struct
import subprocess
import tempfile
from pathlib import Path
from types import TracebackType
from typing import IO, Protocol

from keeper.relay import FIRST, SECOND
from keeper.ticks import MASK
from rillsim.boards.board import TICK_MS

INPUTS = struct.Struct("<IIIBB4hI")
OUTPUTS = struct.Struct("<BIII")
"""As in firmware/virtual/chips.py, which says what they hold."""

LOAD_ON, RAIN, BUTTON, USB_POWER = 1, 2, 4, 8

RELAY, DOG, SECOND_RELAY = 1, 2, 4
AT_PROMPT = 0xFFFFFFFE
RESET = NOT_SET = 0xFFFFFFFF

DOG_MS = 4000
"""How long the watchdog leaves a board at the prompt: as in firmware/device/watchdog.py."""

VIRTUAL = b"virt"
"""How the number of every virtual board begins."""
NAMELESS = VIRTUAL + bytes(4)

PATIENCE_S = 30.0
"""Real time that the firmware may take over one step before it counts as hung."""


class Console(Protocol):
    """A terminal on the serial line, as the board with a prompt needs it."""

    raw: bool
    """Whether a program talks to the prompt in the raw manner."""

    def begin(self, soft: bool) -> None:
        """The board starts again, by a soft reset or otherwise."""


class VirtualBoardStopped(RuntimeError):
    """The firmware has ended by itself, or hangs; the message ends with what it printed last."""


def firmware_files(firmware: Path) -> dict[str, Path]:
    """What is copied to a board: path there, and the source."""
    files = {name: firmware / name for name in ("boot.py", "main.py")}
    for package in ("keeper", "device"):
        # Sources, or what mpy-cross made of them.
        for source in sorted((firmware / package).glob("*.*py")):
            files[f"lib/{package}/{source.name}"] = source
    return files


def _take_terminal() -> None:
    """The board's side of the terminal becomes the one that Ctrl-C reaches it through."""
    import fcntl
    import termios  # Neither is known to Windows, where there is no virtual board.

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


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
        console: Console | None = None,
        unique_id: bytes = NAMELESS,
    ) -> None:
        """A board; with new flash, where there is none in the folder.

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
        console : Console, optional
            Gives the board a prompt on its serial line, which must be a terminal
        unique_id : bytes
            The board's own number
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
        self._console = console
        self._unique_id = unique_id
        self.clock_set: tuple[int, int] | None = None
        """Day and second that the clock was set to in the last step."""
        self.at_prompt = False
        """Whether the firmware has ended; the board then runs what is typed."""
        self._level = 0
        self._sleep_ms = 0
        self._owes_word = False
        """Whether the board waits for a word."""
        self._due_n = 0
        self._dog = False
        self._prompt_n = 0
        self._process: subprocess.Popen[bytes] | None = None
        self._printed: IO[bytes] = tempfile.TemporaryFile()
        self._to_board = self._from_board = -1
        if not self.image.exists():
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
        """One tick with power; returns the level at which the relay pins are left."""
        day, second, known = clock
        battery_n, pressure_n, load_on, contacts, frost_n, current_n, *meter = counts
        pins = (LOAD_ON if load_on else 0) + (contacts & 1) * RAIN + (contacts >> 1 & 1) * BUTTON
        pins += USB_POWER if self.usb_power else 0
        now_ms = (n * TICK_MS + self._first_ms) & MASK
        channels = battery_n, pressure_n, frost_n, current_n
        pulses = meter[0] & MASK if meter else 0
        word = INPUTS.pack(now_ms, day, second, known, pins, *channels, pulses)
        self.steps += 1
        self.clock_set = None
        if self._process is None:
            self._start()
        if self._console is None and self.at_prompt:
            self._hear(n, PATIENCE_S)
        while self._console is not None and self._hear(n, 0.0):
            pass
        if self.at_prompt:
            self._beside(n, word)
        if not self.at_prompt:
            self._in_step(n, word)
        return self._level

    def nap_ticks(self) -> int:
        """How many ticks it may be left alone if no pin changes."""
        return 1 if self.at_prompt else max(1, -(-self._sleep_ms // TICK_MS))

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
        self.at_prompt = self._dog = False
        self._level = 0

    def dark(self, n: int) -> int:
        """A tick without power; returns how many ticks it may be left alone."""
        self.power_off()
        return MASK

    def power_back(self) -> None:
        """Power is there again after a loss: the next step starts it from its flash."""
        self.power_off()
        if self._console is not None:
            self._console.begin(soft=False)

    @property
    def log(self) -> list[str]:
        """The lines of the log on its flash."""
        return self._run("read_log.py", str(self.image)).splitlines()

    def printed(self) -> str:
        """The end of what the board printed, where no serial line was given."""
        self._printed.seek(0)
        return self._printed.read()[-2000:].decode(errors="replace")

    def _in_step(self, n: int, word: bytes) -> None:
        """Hand over the inputs and wait until the program sleeps again, or has ended."""
        before = self.restarts
        answered = False
        while not self.at_prompt and not (answered and self._owes_word):
            if self._owes_word:
                self._say(word)
                answered = True
            starts = self.restarts
            if not self._hear(n, PATIENCE_S):
                raise VirtualBoardStopped(f"no answer within {PATIENCE_S:.0f} s; {self.printed()}")
            if self.restarts > before + 1:
                raise VirtualBoardStopped(f"it resets itself again at once; {self.printed()}")
            answered = answered and self.restarts == starts

    def _beside(self, n: int, word: bytes) -> None:
        """At the prompt: answer what is asked there when its time has come; mind the watchdog."""
        if self._dog and (n - self._prompt_n) * TICK_MS >= DOG_MS:
            self._restart()
        elif self._owes_word and n >= self._due_n:
            self._say(word)

    def _say(self, word: bytes) -> None:
        self._owes_word = False
        try:
            os.write(self._to_board, word)
        except BrokenPipeError:  # It has ended; how, is heard next.
            pass

    def _hear(self, n: int, patience_s: float) -> bool:
        """Take what the board says, waiting so long at most; False where it says nothing."""
        ready, _, _ = select.select([self._from_board], [], [], patience_s)
        if not ready:
            return False
        message = os.read(self._from_board, OUTPUTS.size)
        if len(message) != OUTPUTS.size:
            self._ended()
            return True
        flags, sleep_ms, day, second = OUTPUTS.unpack(message)
        self._level = (FIRST if flags & RELAY else 0) + (SECOND if flags & SECOND_RELAY else 0)
        if day != NOT_SET:
            self.clock_set = (day, second)
        if sleep_ms == RESET:
            self._restart()
        elif sleep_ms == AT_PROMPT:
            if not self.at_prompt:
                self._prompt_n = n
            self.at_prompt = True
            self._dog = self._dog or bool(flags & DOG)
        else:
            self._sleep_ms = sleep_ms
            self._owes_word = True
            self._due_n = n + -(-sleep_ms // TICK_MS)
        return True

    def _ended(self) -> None:
        """The interpreter has ended: a soft reset at the prompt, else the end of the board."""
        assert self._process is not None
        status = self._process.wait()
        console = self._console
        if console is None or not self.at_prompt:
            self.power_off()
            raise VirtualBoardStopped(f"the firmware ended with status {status}; {self.printed()}")
        dog, raw = self._dog, console.raw
        self.power_off()
        console.begin(soft=True)
        self._start(runs_main=not raw)
        self._dog = dog  # It outlives a soft reset.

    def _restart(self) -> None:
        """The board resets itself."""
        self.power_off()
        self.restarts += 1
        if self._console is not None:
            self._console.begin(soft=False)
        self._start()

    def _start(self, runs_main: bool = True) -> None:
        child_in, self._to_board = os.pipe()
        self._from_board, child_out = os.pipe()
        prompt = self._console is not None
        command = self._command("start.py")
        if prompt:
            command.insert(1, "-i")
        words = [str(self.image), str(child_in), str(child_out), "1" if self._chip else "0"]
        self._process = subprocess.Popen(
            [*command, *words, self._unique_id.hex(), "1" if runs_main else "0"],
            env=self._environment(),
            stdin=subprocess.DEVNULL if self._serial is None else self._serial,
            stdout=self._printed if self._serial is None else self._serial,
            stderr=self._serial if prompt else self._printed,
            pass_fds=(child_in, child_out),
            start_new_session=prompt,
            preexec_fn=_take_terminal if prompt else None,
        )
        os.close(child_in)
        os.close(child_out)
        self._owes_word = True

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
            raise VirtualBoardStopped(f"{script}: {done.stdout[-1000:]}{done.stderr[-1000:]}")
        return done.stdout

    def _command(self, script: str) -> list[str]:
        return [str(self._micropython), str(self._firmware / "virtual" / script)]

    def _environment(self) -> dict[str, str]:
        return {**os.environ, "MICROPYPATH": str(self._firmware)}
