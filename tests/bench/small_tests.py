"""What each small test at the bank is worth: which pairs of causes it parts, at which severity.

``python -m tests.bench.small_tests`` prints the table of hardware_notes/small_tests.md, on the
demonstration site. Each row is a cause at one severity, with the other cause at the severity at
which the signs of a night are nearest to it: the pair as `why` meets it. A figure is the chance
that the likelier of the two is the right one after the test, over all its outcomes in the plant;
50 is a coin.
"""

import sys
from collections.abc import Iterator

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.why.causes import CAUSES
from rillkeeper.inquiry.why.signatures import Signatures, work_out
from rillkeeper.inquiry.why.signs import SIGNS
from rillkeeper.inquiry.why.small_tests.expected import Suspect, expected
from rillkeeper.inquiry.why.small_tests.table import TESTS
from rillkeeper.inquiry.why.small_tests.tried import Tried
from rillkeeper.inquiry.why.small_tests.worth import worth_of
from rillkeeper.site.file import demo_site
from tests.bench.table import Row

PARTED = 0.8
SEVERITIES = ("mild", "moderate", "bad")
PAIRS = (
    ("sprinkler_blocked", (0.07, 0.16, 0.32), "hose_kinked"),
    ("nozzle_worn", (0.12, 0.25, 0.5), "pump_worn"),
    ("nozzle_worn", (0.12, 0.25, 0.5), "hose_burst"),
    ("nozzle_worn", (0.12, 0.25, 0.5), "air_leak"),
    ("nozzle_worn", (0.12, 0.25, 0.5), "strainer_blocking"),
    ("pump_worn", (0.1, 0.22, 0.45), "air_leak"),
    ("pump_worn", (0.1, 0.22, 0.45), "hose_burst"),
    ("pump_worn", (0.1, 0.22, 0.45), "strainer_blocking"),
    ("strainer_blocking", (0.74, 0.85, 0.91), "air_leak"),
    ("foot_valve_leak", (0.003, 0.006, 0.015), "air_leak"),
    ("relay_worn", (0.1, 0.25, 0.5), "pump_worn"),
    ("corroded_clamp", (0.03, 0.07, 0.13), "battery_offset downwards"),
    ("pressure_offset downwards", (0.12, 0.3, 0.6), "pump_worn"),
    ("pressure_offset", (0.12, 0.3, 0.6), "hose_kinked"),
)
"""Fourteen pairs that two sensors tell apart badly, or not at all (own choice, by the groups that
`why` names)."""
_MODES = {mode.key: (cause, mode) for cause in CAUSES for mode in cause.modes}


def nearest(known: Signatures, key: str, severity: float, other: str) -> float:
    """The severity of another fault at which the signs of a night are nearest."""
    floors = np.array([sign.floor for sign in SIGNS])
    spread = np.sqrt(known.noise**2 + floors**2 + (known.tolerances**2).sum(axis=(0, 1)))
    one, two = known.modes[key], known.modes[other]
    mine = one.effects[int(np.argmin(np.abs(one.severities - severity)))]
    off = np.nan_to_num((two.effects - mine) / spread)
    place = int(np.argmin((off**2).sum(axis=(1, 2))[1:])) + 1
    return float(two.severities[place])


def worths(pairs: int = len(PAIRS)) -> Iterator[tuple[str, str, str, dict[str, float]]]:
    """Severity, the two causes in words, and the chance of being right after each test."""
    site = demo_site()
    settings = settings_of(site)
    known, tried = work_out(site, settings), Tried(site, settings)
    for key, severities, other in PAIRS[:pairs]:
        for name, severity in zip(SEVERITIES, severities, strict=True):
            pair = ((key, severity), (other, nearest(known, key, severity, other)))
            suspects, words = [], []
            for fault, much in pair:
                cause, mode = _MODES[fault]
                suspects.append(Suspect(cause.name, 0.5, mode, much))
                words.append(f"{cause.name}, {mode.words(much, site)}")
            found = expected(tried, suspects)
            right = {test.name: worth_of(found, test).right_after for test in TESTS}
            yield name, words[0], words[1], right


def rows(pairs: int = len(PAIRS)) -> list[Row]:
    """How many of the pairs each test parts, for the table of the bench."""
    counts = {(test.name, name): 0 for test in TESTS for name in SEVERITIES}
    for name, _, _, right in worths(pairs):
        for test in TESTS:
            counts[test.name, name] += right[test.name] >= PARTED
    return [
        Row(
            f"pairs of {pairs} parted by: rillkeeper test {test.name}",
            ", ".join(f"{name} {counts[test.name, name]}" for name in SEVERITIES),
        )
        for test in TESTS
    ]


def main() -> None:
    """Print the pages' tables."""
    counts = {(test.name, name): 0 for test in TESTS for name in SEVERITIES}
    names = [test.name for test in TESTS]
    lines = [f"| how bad | one cause | another | {' | '.join(names)} |"]
    lines.append("|---|---|---|" + "---:|" * len(names))
    for name, one, other, right in worths():
        cells = []
        for test in names:
            percent = f"{100.0 * right[test]:.0f}"
            cells.append(f"**{percent}**" if right[test] >= PARTED else percent)
            counts[test, name] += right[test] >= PARTED
        lines.append(f"| {name} | {one} | {other} | {' | '.join(cells)} |")
        print(f"{name}: {one} / {other}", file=sys.stderr)
    print(f"| test | {' | '.join(SEVERITIES)} |\n|---|---:|---:|---:|")
    for test in names:
        print(f"| `{test}` | " + " | ".join(str(counts[test, name]) for name in SEVERITIES) + " |")
    print()
    print("\n".join(lines))


if __name__ == "__main__":
    main()
