"""Compares the demo week, then a night with each fault of the catalogue: python -m tests.twin

By the firmware on 64 bits and, where node and the wasm build are there, on 32; the faults there in
nights of the scenarios' site, which are shorter. Prints nights and records compared, and how fast;
the exit status is 1 where a log differs.
"""

import sys
import tempfile
from pathlib import Path

from rillkeeper.site.file import demo_site, load_site
from rillsim.faults.catalogue import CATALOGUE
from rillsim.site import Site
from tests import outside
from tests.scenarios.scenario import SITE
from tests.twin.nights import Twins, fault_in_the_first_night, site_for, twins

NIGHTS = 7


def show(name: str, nights: int, both: Twins) -> bool:
    """One row of the table; True where the logs are the same."""
    difference = both.difference()
    speed = nights * 86400 / both.whole_s
    print(
        f"{name:32} {nights:6} {len(both.alone.log):8} {both.steps:8}"
        f" {both.alone_s:7.1f} {both.whole_s:8.1f} {speed:9,.0f}"
        f"  {'differs' if difference else 'same bytes'}"
    )
    if difference:
        print(difference)
    return not difference


def compare(micropython: Path, folder: Path, label: str, fault_site: Site) -> list[bool]:
    """The demo week, then a night with each fault on that site."""
    good = [show("demo week" + label, NIGHTS, twins(micropython, folder, NIGHTS))]
    for row in CATALOGUE:
        fault = fault_in_the_first_night(row.name)
        both = twins(micropython, folder, 1, (fault,), site=site_for(row.name, fault_site))
        good.append(show(row.name + label, 1, both))
    return good


def main() -> int:
    micropython = outside.find("micropython")
    if micropython is None:
        print("micropython is missing; " + outside.HOW_TO_GET["micropython"], file=sys.stderr)
        return 1
    print(f"{'':32} nights  records    ticks keeper s firmware s   x real  run logs", flush=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        good = compare(micropython, folder, "", demo_site())
        missing = [program for program in ("node", "wasm") if outside.find(program) is None]
        if missing:
            print(f"32 bits: {missing[0]} is missing; {outside.HOW_TO_GET[missing[0]]}")
        else:
            good += compare(outside.WASM_BOARD, folder, ", 32 bits", load_site(SITE))
    print(f"{sum(good)} of {len(good)} the same")
    return 0 if all(good) else 1


if __name__ == "__main__":
    sys.exit(main())
