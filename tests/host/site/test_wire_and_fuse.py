"""Nothing that burns is let through: 2,000 drawn wires, fuses and lengths by a sum of their own.

The sum here takes nothing from the project: areas and ampacities are written out, copper is
0.0175 ohm mm2/m at 20 C. What lies within a fifth of a limit is left to either side.
"""

import random
from dataclasses import replace

import pytest

from rillkeeper.site.change import conflicts
from rillkeeper.site.file import demo_site
from rillsim.site import BatterySpec

DEMO = demo_site()
CASES = 2000
NEAR = 0.2

# Area [mm2] (ASTM B258) and what it carries [A] as PVC, 105 C and cord: the columns of ABYC E-11
# for 60 C and 105 C, and NFPA 70 table 400.5(A)(1); from memory.
AMPERES = (
    (0.823, 10, 20, 10),
    (1.309, 15, 25, 13),
    (2.081, 20, 35, 18),
    (3.309, 25, 45, 25),
    (5.261, 40, 60, 30),
    (8.366, 55, 80, 40),
    (13.31, 80, 120, 55),
)
SECTIONS_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0) + tuple(row[0] for row in AMPERES)
FUSES_A = (10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 100.0)
COPPER_OHM_MM2_M = 0.0175
HOT = 1.0 + 0.0039 * 50.0
"""Copper of 70 C against 20 C."""
BATTERY_OHM = 0.01
COLD = 1.3
"""A battery at 0 C against 25 C: common practice, no source."""
REST_V = 12.2
"""Of a lead-acid battery half used: common practice, no source."""


def carries(area_mm2: float, insulation: str) -> float:
    column = 1 + ("pvc", "105C", "cord").index(insulation)
    return max((row[column] for row in AMPERES if row[0] <= area_mm2 * 1.001), default=0)


def test_two_thousand_wires_and_fuses() -> None:
    draw = random.Random(20).choice
    refused = near = 0
    for _ in range(CASES):
        area_mm2, insulation, fuse_a = (
            draw(SECTIONS_MM2),
            draw(("pvc", "105C", "cord")),
            draw(FUSES_A),
        )
        length_m = draw((0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0))
        loop_ohm = COLD * BATTERY_OHM + 2.0 * length_m * COPPER_OHM_MM2_M * HOT / area_mm2
        over_a = REST_V / loop_ohm / (2.0 * fuse_a)
        site = replace(
            DEMO,
            battery=BatterySpec(resistance_ohm=BATTERY_OHM, age=1.0),
            cable=replace(
                DEMO.cable,
                length_m=length_m,
                area_m2=area_mm2 * 1e-6,
                insulation=insulation,
                fuse_a=fuse_a,
                clamp_ohm=0.0,
                relay_ohm=0.0,
                fuse_ohm=1e-9,
            ),
        )
        found = [one.problem for one in conflicts(site) if one.path == "cable.fuse"]
        burns = any("could start a fire" in problem for problem in found)
        stays = any("would not blow it" in problem for problem in found)
        said = f"{area_mm2} mm2 {insulation}, {fuse_a} A, {length_m} m: {found}"
        assert burns == (fuse_a > carries(area_mm2, insulation)), said
        if abs(over_a - 1.0) > NEAR:
            assert stays == (over_a < 1.0), f"{said}, {over_a}"
        else:
            near += 1
        refused += burns or stays
    assert CASES // 4 < refused < CASES * 9 // 10
    assert near < CASES // 10


@pytest.mark.parametrize(
    ("section_m2", "insulation", "fuse_a", "mend"),
    [
        (1.0e-6, "pvc", 30.0, "a fuse of 10 A or a section of 6 mm2"),
        (3.31e-6, "pvc", 60.0, "a fuse of 25 A or a section of 16 mm2"),
        (2.5e-6, "cord", 50.0, "a fuse of 15 A or a section of 16 mm2"),
        (3.31e-6, "105C", 100.0, "a fuse of 40 A or a section of 16 mm2"),
        (0.5e-6, "pvc", 25.0, "a section of 4 mm2"),
    ],
)
def test_what_was_let_through_once_is_refused_with_the_mend(
    section_m2: float, insulation: str, fuse_a: float, mend: str
) -> None:
    cable = replace(DEMO.cable, area_m2=section_m2, insulation=insulation, fuse_a=fuse_a)
    found = conflicts(replace(DEMO, cable=cable))
    assert [(one.path, one.allowed) for one in found] == [("cable.fuse", mend)]


def test_a_hundred_feet_of_cord_never_blow_a_fuse_of_twenty() -> None:
    """The outside review's case: about 15 A flow into a short circuit at the far end."""
    cable = replace(DEMO.cable, length_m=30.48, area_m2=2.081e-6, insulation="cord", fuse_a=15.0)
    (found,) = conflicts(replace(DEMO, cable=cable))
    assert "would not blow it" in found.problem
    assert found.allowed == "a shorter cable or a section of 4 mm2"
    assert not conflicts(replace(DEMO, cable=replace(cable, area_m2=4.0e-6)))
    assert conflicts(replace(DEMO, cable=replace(cable, area_m2=2.5e-6)))
    short = replace(cable, length_m=5.0)
    assert not conflicts(replace(DEMO, cable=short))


def test_clamps_that_let_too_little_through_are_named() -> None:
    cable = replace(DEMO.cable, clamp_ohm=0.5)
    (found,) = conflicts(replace(DEMO, cable=cable))
    assert found.allowed == "clean and tight clamps or a fuse of 10 A"
