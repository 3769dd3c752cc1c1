"""Faults that come by chance: a file of rates, and what a season of them brings.

A row is a fault of the catalogue and how often it comes in a year, `hose_burst = 0.1`, or with
its severity, `[strainer_blocking]` with `per_year = 2` and `severity = [0.2, 0.8]`. It comes at
any moment, and stays until somebody looks at the board and mends it; by nobody, to the end.
"""

import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from zlib import crc32

import numpy as np

from rillkeeper.errors import RillkeeperError
from rillsim.faults.catalogue import BY_NAME
from rillsim.site import FaultSpec, SetSpec

DAY_S = 86400
YEAR_DAYS = 365.0
RATE_MAX = 50.0
SEVERITY = (0.3, 1.0)
"""Where the file does not say (common practice, no source)."""
_STREAM = 0xFA17


@dataclass(frozen=True)
class Rate:
    """How often a fault comes in a year, and how bad."""

    name: str
    per_year: float
    severity: tuple[float, float] = SEVERITY


def read_rates(path: Path) -> tuple[Rate, ...]:
    """The rates of a file; all its mistakes at once."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise RillkeeperError(f"{path}: cannot be read: {error.strerror}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise RillkeeperError(f"{path}: not a TOML file: {error}") from None
    mistakes: list[str] = []
    rates = [_rate(name, value, mistakes) for name, value in table.items()]
    if not table:
        mistakes.append("has no rates; write a line as: hose_burst = 0.1")
    if mistakes:
        raise RillkeeperError(f"{path}: {'; '.join(mistakes)}")
    return tuple(rates)


def _rate(name: str, value: object, mistakes: list[str]) -> Rate:
    """One row; what is wrong with it goes to the mistakes."""
    if name not in BY_NAME:
        near = get_close_matches(name, BY_NAME, n=1)
        hint = f"; did you mean {near[0]}?" if near else ""
        mistakes.append(f"{name} is not a fault of the catalogue{hint}")
    row: dict[str, object] = value if isinstance(value, dict) else {"per_year": value}
    unknown = sorted(set(row) - {"per_year", "severity"})
    if unknown:
        mistakes.append(f"{name}: no key {unknown[0]}; there are per_year and severity")
    per_year = _number(row.get("per_year"))
    if per_year is None or not 0.0 <= per_year <= RATE_MAX:
        given = row.get("per_year")
        mistakes.append(f"{name}: per_year is {given!r}; give 0 to {RATE_MAX:g} times a year")
        per_year = 0.0
    severity = row.get("severity", list(SEVERITY))
    ends = [_number(each) for each in severity] if isinstance(severity, list) else []
    ends = ends or [_number(severity)] * 2
    low, high = ends[0], ends[-1]
    if len(ends) != 2 or low is None or high is None or not -1.0 <= low <= high <= 1.0:
        mistakes.append(f"{name}: severity is {severity!r}; give one, or two as [0.2, 0.8]")
        return Rate(name, per_year)
    return Rate(name, per_year, (low, high))


def _number(value: object) -> float | None:
    """A plain number, or None."""
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if is_number else None  # type: ignore[arg-type]


def faults_of(
    rates: tuple[Rate, ...],
    nights: int,
    seed: int,
    number: int,
    sets: tuple[SetSpec, ...],
    looks_s: tuple[int, int],
) -> tuple[FaultSpec, ...]:
    """What comes in season ``number``: each fault has a stream of its own, so that variants and
    other rates change nothing of it. ``looks_s``: second of the day and days between looks."""
    first_s = min((each.start_s for each in sets), default=0)
    found = []
    for rate in rates:
        words = [seed, _STREAM, number, crc32(rate.name.encode())]
        rng = np.random.Generator(np.random.Philox(np.random.SeedSequence(words)))
        at_day = 0.0
        while rate.per_year > 0.0:
            at_day += float(rng.exponential(YEAR_DAYS / rate.per_year))
            severity = float(rng.uniform(*rate.severity))
            if at_day >= nights:
                break
            found.append(_fault(rate.name, at_day, severity, first_s, looks_s))
    return tuple(sorted(found, key=lambda one: (one.night, one.offset_s, one.name)))


def _fault(
    name: str, at_day: float, severity: float, first_s: int, looks_s: tuple[int, int]
) -> FaultSpec:
    """One fault, from a moment of the season until somebody comes to mend it."""
    night = int(at_day) + 1
    noon_s = DAY_S // 2
    begins_s = (at_day - int(at_day)) * DAY_S - (first_s - noon_s) % DAY_S
    duration_s = 0.0
    at_s, every = looks_s
    if every:
        since_noon_s = at_day * DAY_S
        look_s = float((at_s - noon_s) % DAY_S)
        while look_s <= since_noon_s:
            look_s += every * DAY_S
        duration_s = look_s - since_noon_s
    return FaultSpec(name, night, round(begins_s, 1), severity, round(duration_s, 1))
