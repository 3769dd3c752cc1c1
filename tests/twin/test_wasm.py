"""The whole firmware in the 32-bit interpreter: the same bytes as on 64 bits, and as keeper's.

Two short nights of the scenarios' site through boot.py, main.py, device and keeper, by the same
pipes as in test_twin.py. The first night's set is cut by a battery that is lifted off and put
back, and the counter wraps in it; in the second somebody shuts the tap. Only here do the
firmware's integers have 31 bits, as on a board. The flash is a folder: this build has no
littlefs.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from keeper.records import POWER_BROKE_RUN
from keeper.rules import NAME, RULES
from rillkeeper.site.file import load_site
from rillsim.site import FaultSpec, Site
from tests import outside
from tests.interpreters import rigs
from tests.scenarios.scenario import SITE
from tests.twin.nights import twins

pytestmark = [pytest.mark.interpreter, pytest.mark.xdist_group("twin, 32 bits")]

Need = Callable[[str], Path]

# Two minutes into the first set, which begins ten hours after the first noon.
FIRST_MS = 2**30 - (10 * 3600 + 120) * 1000
LIFTED = FaultSpec("battery_lifted", night=1, offset_s=300.0, duration_s=60.0)
SHUT = FaultSpec("outlet_shut", night=2, offset_s=180.0)
DEAD_HEAD = [row[NAME] for row in RULES].index("dead head")


def site(minutes: float) -> Site:
    found = load_site(SITE)
    return replace(found, sets=tuple(replace(row, amount=minutes) for row in found.sets))


@pytest.fixture
def wasm(need: Need) -> Path:
    need("node")
    need("wasm")
    return outside.WASM_BOARD


def test_the_same_bytes_on_32_bits(wasm: Path, need: Need, tmp_path: Path) -> None:
    """Keeper in CPython, the firmware in the unix port and the firmware in wasm: one log."""
    faults = (LIFTED, SHUT)
    narrow = twins(wasm, tmp_path, 2, faults, first_ms=FIRST_MS, site=site(12))
    log = narrow.alone.log
    broken_off = f" boot cause={POWER_BROKE_RUN} "
    assert all(fault.felt for fault in narrow.alone.faults), "a fault had no effect"
    assert any(" 22:02:03 ok minute " in line for line in log), "no pumping across the wrap"
    assert sum(broken_off in line for line in log) == 1, "no power loss, no restart"
    assert sum(f" trip rule={DEAD_HEAD} " in line for line in log) == 2
    assert sum(" night " in line for line in log) == 2
    assert narrow.difference() == ""
    wide = twins(need("micropython"), tmp_path, 2, faults, first_ms=FIRST_MS, site=site(12))
    assert wide.difference() == ""
    assert wide.whole.log == narrow.whole.log
    assert wide.steps == narrow.steps


def test_the_firmware_is_on_32_bits(wasm: Path, tmp_path: Path) -> None:
    """A firmware that lies about its start on wide integers only is not found to differ: it has
    narrow ones. One that lies on narrow integers as well is, in its first record."""
    for told, wide_bit in (("0", 40), ("7", 20)):
        firmware = tmp_path / told
        (firmware / "device").mkdir(parents=True)
        for path in rigs.FIRMWARE.iterdir():
            if path.name != "device":
                (firmware / path.name).symlink_to(path)
        for path in (rigs.FIRMWARE / "device").glob("*.py"):
            text = path.read_text(encoding="utf-8")
            if path.name == "board.py":
                lie = f"cause = (7 if sys.maxsize >> {wide_bit} else POWER_UP) if"
                assert text.count("cause = POWER_UP if") == 1
                text = text.replace("cause = POWER_UP if", lie)
            (firmware / "device" / path.name).write_text(text, encoding="utf-8")
        both = twins(wasm, tmp_path, 1, firmware=firmware, site=site(1))
        assert f" boot cause={told} " in both.whole.log[0]
        assert bool(both.difference()) == (told == "7")
