"""The board's loop in CPython, its flash in memory: it can be cut off and started at every tick.

The parts are the device's own, on the virtual board's chips; only files, serial port and watchdog
are stand-ins. A quiet site with a pump answers the relay. Two losses of power in the same tick
differ by what reached the flash: ``tick`` stops before the records are written, ``settle`` after.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from types import SimpleNamespace
from typing import Any

from device import board, manifest, output, pins, store
from keeper.cycle import STATES
from keeper.ticks import MASK
from tests.interpreters.board import BOARD
from virtual import chips, listed

TICK_MS = board.TICK_MS
DAY = 20643
SET_S = 1800
EVENING_S = 22 * 3600
SETTINGS = {
    **BOARD,
    "run_max_s": SET_S + 120,
    "set1_amount": SET_S // 60,
    "set1_runs": 1,
    "set1_start_s": EVENING_S,
    "set2_unit": 0,
    "set3_unit": 0,
    "duty_s": 7200,
    "prime_ms": 5000,
    "retry_rest_s": 2,
    "pressure_pa_per_v": 0,
    "empty_mv": 12430,
}
"""One set of half an hour, and a run limit two minutes above it. By its rest voltage the battery
is not a quarter full: what it falls by at once is its own, and no joint's."""


class MemoryFile(BytesIO):
    """An open file; what was written is on flash when it is closed, whole."""

    def __init__(self, flash: dict[str, bytes], path: str, mode: str) -> None:
        super().__init__(b"" if mode == "wb" else flash[path])
        self._flash, self._path, self._writes = flash, path, mode != "rb"
        if mode == "ab":
            self.seek(0, 2)

    def close(self) -> None:
        if self._writes and not self.closed:
            self._flash[self._path] = self.getvalue()
        super().close()


class MemoryFlash:
    """What ``device.files.Files`` does, in a dictionary."""

    def __init__(self, files: dict[str, bytes]) -> None:
        self.files = files

    def open(self, path: str, mode: str) -> MemoryFile:
        try:
            return MemoryFile(self.files, path, mode)
        except KeyError as error:
            raise OSError(2, path) from error

    def names(self, folder: str) -> list[str]:
        return [path[len(folder) + 1 :] for path in self.files if path.startswith(folder + "/")]

    def make_folder(self, folder: str) -> None:
        pass

    def remove(self, path: str) -> None:
        del self.files[path]

    def read(self, path: str) -> bytes | None:
        return self.files.get(path)


def new_flash() -> dict[str, bytes]:
    """Settings, a list of one file, and no memory yet."""
    flash = MemoryFlash({"boot.py": b"pass\n"})
    flash.files[manifest.PATH] = listed.text_of(flash, ["boot.py"]).encode()
    assert store.TwoSlots(flash, "settings").save(store.settings_text(SETTINGS))
    return flash.files


class Dog:
    """The watchdog's hardware: when it was fed, and how long it waits."""

    fed_ms = timeout_ms = 0

    def __init__(self, timeout: int) -> None:
        Dog.fed_ms = chips.LINK.now_ms
        Dog.timeout_ms = timeout

    def feed(self) -> None:
        Dog.fed_ms = chips.LINK.now_ms


class Ticks:
    """The counter, which moves with the site's time."""

    @staticmethod
    def ticks_ms() -> int:
        return chips.LINK.now_ms


@contextmanager
def no_port() -> Iterator[None]:
    """Boards made inside find a serial port with nobody on it."""
    streams = SimpleNamespace(buffer=None)
    poll = SimpleNamespace(register=lambda stream, what: None)
    parts = {
        "sys": SimpleNamespace(stdin=streams, stdout=streams),
        "select": SimpleNamespace(poll=lambda: poll, POLLIN=1, POLLOUT=4),
        "gc": SimpleNamespace(collect=lambda: None),
    }
    before = {name: getattr(board, name) for name in parts}
    for name, part in parts.items():
        setattr(board, name, part)
    wdt, chips.WDT = chips.WDT, Dog  # type: ignore[misc,assignment]
    try:
        yield
    finally:
        chips.WDT = wdt  # type: ignore[misc]
        for name, was in before.items():
            setattr(board, name, was)


_PRESSURES = {"dead head": 1500, "dry run": 412, "high pressure": 2400}


class Site:
    """What the inputs show. The faults are those of a site that goes wrong at some moment."""

    def __init__(self, fault: str = "none") -> None:
        self.fault = fault

    def show(self, at_ms: int) -> None:
        link = chips.LINK
        on = link.relay
        tick = at_ms // TICK_MS
        link.now_ms = at_ms & MASK
        link.day, link.second = DAY + at_ms // 86400000, at_ms // 1000 % 86400
        link.known = 1
        live = on or self.fault == "welded"
        link.pins = chips.LOAD_ON if live else 0
        link.counts[0] = (2720 if on else 2790) + tick % 3
        link.counts[1] = (_PRESSURES.get(self.fault, 1000) if on else 410) + tick % 5
        link.counts[2] = 900
        link.counts[3] = (600 if on else 5) + tick % 2
        if self.fault == "brown-out" and on:
            link.counts[0] = 1900
        if self.fault == "bad sensor":
            link.counts[1] = 0


class RamBoard:
    """One board from one start to the next loss of power."""

    def __init__(self, files: dict[str, bytes], at_ms: int, site: Site) -> None:
        """Start it, as boot.py and main.py do; a loss of power has left the pin open."""
        self.files = files
        self.site = site
        self.at_ms = at_ms
        chips.LINK.relay = 0
        site.show(at_ms)
        row = dict(pins.TABLE["linux"])
        relay = output.relays(chips, row)
        relay._ticks_ms = Ticks.ticks_ms
        self.relay = relay
        flash = MemoryFlash(files)
        trouble = next(filter(None, manifest.troubles(flash)), "")
        self.board = board.Board(chips, Ticks, row, relay, flash, trouble)
        self.board.dog.arm()

    @property
    def keeper(self) -> Any:
        return self.board.keeper

    def tick(self) -> int:
        """Read, judge, drive; nothing is written yet."""
        self.site.show(self.at_ms)
        self.board.clock.read()
        self.board.tick()
        return chips.LINK.relay

    def settle(self) -> None:
        """What the loop does after a tick; then the next tick is due, or the end of a nap."""
        self.board.look_after()
        self.at_ms += max(self.board._nap_ms(), TICK_MS)

    @property
    def state(self) -> str:
        """Its name."""
        return STATES[self.keeper.state]
