"""Trials of the small tests on one site, kept on disk so that each is made once.

The name of the file is a hash of all that its content depends on, as for the signatures of the
nights (``why/cache.py``); a file that is not right is ignored.
"""

import hashlib
import json
import os
from collections.abc import Callable, Collection, Sequence
from contextlib import suppress
from copy import copy
from math import isnan, nan
from pathlib import Path

from rillkeeper.inquiry.why.cache import key_of
from rillkeeper.inquiry.why.failure_modes import FailureMode
from rillkeeper.inquiry.why.small_tests.bank import Bank, Readings, read_all
from rillkeeper.inquiry.why.small_tests.table import TESTS
from rillkeeper.inquiry.why.trials import TOLERANCES, SensorShift
from rillsim.site import Site

FOLDER = "small_tests"
KEPT_MAX = 20
"""Files; the oldest go."""
_SOUND = "sound"
_COMES = " in a run"
_CODE = ("bank.py", "table.py")


class Tried:
    """What all small tests read on one site, with a fault or a little off its file."""

    def __init__(self, site: Site, settings: dict[str, int], folder: Path | None = None) -> None:
        """``folder`` keeps the trials; without one they are forgotten with this object."""
        self.site = site
        self.settings = settings
        self._file = folder / f"{_name(site, settings)}.json" if folder else None
        self._rows = _load(self._file) if self._file else {}
        self._new = False
        self._beside: tuple[tuple[str, float], ...] = ()
        self._in_a_run: frozenset[str] = frozenset()

    def beside(
        self, faults: Sequence[tuple[str, float]], in_a_run: Collection[str] = ()
    ) -> "Tried":
        """The same site with other troubles on it all the time, in the catalogue's measure; those
        ``in_a_run`` have come in one."""
        other = copy(self)
        other._beside = tuple(faults)
        other._in_a_run = frozenset(in_a_run)
        return other

    def sound(self) -> Readings:
        """On the site as its file says."""
        return self._row(_SOUND, lambda: self._bank(self.site))

    def off_by(self, place: int) -> Readings:
        """With one input of the site moved by one standard deviation: what that changes."""
        row, sound = TOLERANCES[place], self.sound()
        other = row.site(self.site) if row.site else self.site
        found = self._row(row.name, lambda: self._bank(other, shift=row.sensors))
        return {key: found[key] - sound[key] for key in sound}

    def with_fault(self, mode: FailureMode, severity: float) -> Readings:
        """With a fault, its severity in parts of the mode."""
        much = mode.severity_on(self.site, severity)
        if not much:
            return self.sound()
        comes = {mode.fault} if mode.in_a_run else set()
        name = f"{mode.fault} {much:.6g}{_COMES if comes else ''}"
        return self._row(name, lambda: self._bank(self.site, (mode.fault, much), in_a_run=comes))

    def _bank(
        self,
        site: Site,
        *more: tuple[str, float],
        in_a_run: Collection[str] = (),
        shift: SensorShift | None = None,
    ) -> Bank:
        faults = (*self._beside, *more)
        return Bank(site, self.settings, faults, shift, self._in_a_run.union(in_a_run))

    def keep(self) -> None:
        """Write the file, whole or not at all; a disk that cannot be written is no matter."""
        if self._file is None or not self._new:
            return
        rows = {
            name: {key: None if isnan(value) else value for key, value in row.items()}
            for name, row in self._rows.items()
        }
        body = json.dumps(rows, allow_nan=False)
        with suppress(OSError):
            self._file.parent.mkdir(parents=True, exist_ok=True)
            passing = self._file.with_suffix(f".{os.getpid()}.new")
            passing.write_text(f"{_sum(body)}\n{body}", encoding="ascii")
            passing.replace(self._file)
            kept = sorted(self._file.parent.glob("*.json"), key=lambda one: one.stat().st_mtime)
            for old in kept[:-KEPT_MAX]:
                old.unlink()

    def _row(self, name: str, make: Callable[[], Bank]) -> Readings:
        beside = (
            f"{fault} {much:.6g}{_COMES if fault in self._in_a_run else ''}, "
            for fault, much in self._beside
        )
        name = "".join([*beside, name])
        if name not in self._rows:
            self._rows[name] = read_all(make())
            self._new = True
        return self._rows[name]


def _load(file: Path) -> dict[str, Readings]:
    """What a file holds; nothing where it is not there, torn, or not what it should be."""
    keys = {one.key for test in TESTS for one in test.readings}
    try:
        head, _, body = file.read_text(encoding="ascii").partition("\n")
        rows = json.loads(body) if head == _sum(body) else {}
        if any(row.keys() != keys for row in rows.values()):
            return {}
        return {
            name: {key: nan if value is None else float(value) for key, value in row.items()}
            for name, row in rows.items()
        }
    except (OSError, ValueError, TypeError, AttributeError):
        return {}


def _name(site: Site, settings: dict[str, int]) -> str:
    digest = hashlib.sha256(key_of(site, settings).encode())
    for name in _CODE:
        digest.update(Path(__file__).with_name(name).read_bytes())
    return digest.hexdigest()[:24]


def _sum(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()
