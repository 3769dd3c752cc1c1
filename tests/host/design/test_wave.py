"""The first wave of a tap that snaps shut, in the board's limits."""

from contextlib import suppress
from dataclasses import replace
from math import pi, sqrt

import pytest

from rillkeeper.design.limits.derive import NoSafeLimit, limits_of
from rillkeeper.design.limits.water import dead_head
from rillkeeper.design.limits.working_site import Limit, WorkingSite
from rillkeeper.site.file import demo_site
from rillsim.site import Site
from rillsim.water.hammer import BURST
from rillsim.water.properties import Water

DEMO = replace(demo_site(), faults=(), battery_trips=())


def test_the_first_wave_counts_in_the_hold_and_in_the_words() -> None:
    """A stiff hose makes a wave of bars: the relay waits less, and no rating is promised."""

    def hold(site: Site) -> Limit:
        return next(one for one in limits_of(site) if one.key == "dead_head_hold_ms")

    assert "before the rating is reached, the first wave" in hold(DEMO).reason
    stiff = replace(DEMO, line=replace(DEMO.line, modulus_pa=100e6, length_m=60.0))
    assert hold(stiff).value < hold(DEMO).value
    assert "over the rating for a moment if the tap snaps shut" in hold(stiff).reason


def test_a_wave_that_may_burst_a_hose_is_refused() -> None:
    """A long rigid pipe without a transducer; by hand, Joukowsky's rho a v."""
    pipe = replace(DEMO.line, modulus_pa=3.5e9, length_m=80.0, bore_m=0.0127, wall_m=0.0025)
    blind = replace(DEMO.board, pressure_fitted=False)
    rigid = replace(DEMO, board=blind, line=pipe)
    water = Water.at(DEMO.water.temperature_c)
    speed_m_s = WorkingSite(rigid).full.point.flow_m3_s / (pi / 4.0 * pipe.bore_m**2)
    sound_m_s = 1.0 / sqrt(998.0 * (1.0 / water.bulk_modulus_pa + 0.0127 / (3.5e9 * 0.0025)))
    wave_pa = 998.0 * sound_m_s * speed_m_s
    assert DEMO.pump.max_pressure_pa + wave_pa > BURST * DEMO.pump.max_pressure_pa
    with pytest.raises(NoSafeLimit, match="a tap that snaps shut sends a wave"):
        limits_of(rigid)
    assert limits_of(replace(rigid, line=DEMO.line))


def test_what_limits_accept_stays_under_the_pressure_that_hoses_are_tested_at() -> None:
    """Half of what bursts them (ISO 7751, from memory), wave and all."""
    found = []
    for modulus_mpa in (5.0, 20.0, 50.0):
        for length_m, bore_m in ((15.0, 0.0127), (30.0, 0.015875), (60.0, 0.0127)):
            line = replace(
                DEMO.line, modulus_pa=modulus_mpa * 1e6, length_m=length_m, bore_m=bore_m
            )
            with suppress(NoSafeLimit):
                found.append(dead_head(WorkingSite(replace(DEMO, line=line))).top_pa)
    assert len(found) > 5
    assert 1.0 < max(found) / DEMO.pump.max_pressure_pa < BURST / 2.0
