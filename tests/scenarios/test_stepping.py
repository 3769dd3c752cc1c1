"""The demonstration week: stepped over or ticked through, and twice from the same seed."""

import hashlib
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.site.file import demo_site
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, SolarSpec

NIGHTS = 7

pytestmark = pytest.mark.xdist_group("stepping")


@cache
def demo_week(seed: int = 1, nights: int = NIGHTS) -> Week:
    site = demo_site()
    return replay(site, settings_of(site), nights=nights, seed=seed)


def fingerprint(week: Week) -> str:
    """Of every byte that a replay gives."""
    digest = hashlib.sha256("\n".join(week.log).encode())
    for name in week.trace.__dataclass_fields__:
        digest.update(getattr(week.trace, name).tobytes())
    for night in week.truth:
        digest.update(repr(replace(night, depth_map_mm=np.zeros(0))).encode())
        digest.update(night.depth_map_mm.tobytes())
    digest.update(repr(week.faults).encode())
    return digest.hexdigest()


def must_step_over(nights: int, seed: int) -> None:
    """The demonstration site's idle hours, stepped over and ticked through."""
    site = demo_site()
    over, through = (
        replay(site, settings_of(site), nights=nights, seed=seed, step_over=step_over)
        for step_over in (True, False)
    )
    assert over.log == through.log
    # Two hours away from home without power are not stepped by the board in either.
    assert through.control_steps > 0.9 * nights * 864000
    assert over.control_steps < 0.05 * through.control_steps
    assert over.truth[-1].litres == pytest.approx(through.truth[-1].litres, rel=1e-9)


def test_stepping_over_idle_hours_gives_the_log_of_ticking_through_them() -> None:
    """`make campaign` does it with the whole week."""
    must_step_over(nights=1, seed=1)


def test_a_panel_and_growing_faults_are_stepped_over_too() -> None:
    """They change the idle plant by the hour, and neither how often it is looked at."""
    site = replace(
        demo_site(),
        solar=SolarSpec(power_w=20.0),
        faults=(
            FaultSpec("strainer_blocking", 1, -36000.0, 0.9, grows_s=172800.0),
            FaultSpec("pressure_offset", 1, -36000.0, -0.5, grows_s=86400.0),
        ),
    )
    over, through = (
        replay(site, settings_of(site), nights=1, step_over=step_over)
        for step_over in (True, False)
    )
    assert over.log == through.log
    assert over.control_steps < 0.1 * through.control_steps


def test_the_same_seed_gives_the_same_bytes() -> None:
    first = fingerprint(demo_week(nights=2))
    demo_week.cache_clear()
    assert fingerprint(demo_week(nights=2)) == first


def test_another_seed_gives_other_bytes() -> None:
    assert fingerprint(demo_week(seed=2, nights=2)) != fingerprint(demo_week(nights=2))


def test_all_faults_of_the_demonstration_are_felt() -> None:
    assert all(fault.felt for fault in demo_week().faults)
