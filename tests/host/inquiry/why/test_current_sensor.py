"""What a current sensor tells, and that it is off itself.

Without one the current is reckoned from the pressure, and a stiff pump shows as a supply that
takes more of the voltage; with one it is measured, and that sign stays as it was. The current
itself must tell, then. The site is tried out for the causes alone that look alike there.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.inquiry.why import hypotheses, rank, signatures
from rillkeeper.inquiry.why.causes import CAUSES
from rillkeeper.inquiry.why.diagnosis import diagnose
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.inquiry.why.signs import SIGN_PLACE
from rillkeeper.inquiry.why.trials import TOLERANCES, tolerances_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from tests.host.inquiry.why.conftest import Bench, fault, known_bench

pytestmark = pytest.mark.xdist_group("why")

STIFF, SENSOR = "pump stiff or stuck", "current reading off"
AIR = "suction air leak"
RIVALS = (AIR, "source falling", "pump worn", "relay worn", "cable or clamp resistance")
CURRENTS = [SIGN_PLACE[key] for key in ("early_current", "late_current")]


@pytest.fixture(scope="module", autouse=True)
def few(bench: Bench) -> Iterator[None]:
    """Only these are tried and weighed; the site without a sensor was, for all causes."""
    chosen = tuple(cause for cause in CAUSES if cause.name in (STIFF, SENSOR, *RIVALS))
    with pytest.MonkeyPatch.context() as patch:
        for module in (signatures, hypotheses, rank):
            patch.setattr(module, "CAUSES", chosen)
        yield


@cache
def sensed() -> Bench:
    """The same site with a sensor; tried out once."""
    plain = known_bench()
    site = replace(plain.site, board=replace(plain.site.board, current_fitted=True))
    settings = settings_of(site)
    return Bench(plain.text, site, settings, signatures.work_out(site, settings))


def test_a_stiff_pump_is_told_by_its_current() -> None:
    bench = sensed()
    found = bench.judge(bench.week(351, fault("pump_stalled", 0.12)))
    assert found.first == (STIFF,)
    assert found.findings[0].severity == pytest.approx(0.12, rel=0.35)
    assert "more current than it should" in evidence_words(found, found.findings[0], Shown())


def test_a_pump_that_draws_air_is_not_stiff() -> None:
    bench = sensed()
    found = bench.judge(bench.week(351, fault("air_leak", 0.1)))
    assert STIFF not in found.first
    assert AIR in found.first
    assert np.nanmin(found.comparison.off[:, CURRENTS]) < -0.03


@pytest.mark.parametrize("severity", [0.4, -0.4])
def test_a_sensor_that_is_off_is_named_itself(severity: float) -> None:
    """And not the pump or the cable, whose resistance is reckoned with what it reads."""
    bench = sensed()
    found = bench.judge(bench.week(351, fault("current_offset", severity)))
    assert found.first == (SENSOR,)
    first = found.findings[0]
    assert first.mode.downwards == (severity < 0.0)
    assert first.severity == pytest.approx(0.4, rel=0.35)


@pytest.mark.parametrize("name", ["current_channel_open", "current_channel_short"])
def test_a_sensor_that_the_board_stops_for_is_named(name: str) -> None:
    """No set is given with it, so that no sign is left to tell: the board's own word does."""
    bench = sensed()
    found = bench.judge(bench.week(351, fault(name, 1.0)))
    assert found.first == (SENSOR,)
    # A site file that knows of no sensor: nothing of the site is blamed for the board's settings.
    bare = known_bench()
    log = bench.week(351, fault(name, 1.0)).log
    evidence = nights_of(read_log(log), bare.site.board, complete=True).acted
    assert not diagnose(evidence, bare.site, bare.settings, bare.signatures).first


def test_a_sound_sensor() -> None:
    bench = sensed()
    found = bench.judge(bench.week(351))
    assert found.first == ()
    off = found.comparison.off[:, CURRENTS]
    assert not np.isnan(off).any()
    assert np.abs(off).max() < 0.02


def test_without_a_sensor_no_current_is_read(bench: Bench) -> None:
    """The board then writes what the pressure says, which is told already."""
    found = bench.judge(bench.week(321))
    assert np.isnan(found.comparison.off[:, CURRENTS]).all()
    assert SENSOR not in {one.cause.name for one in found.findings}
    names = [one.name for one in tolerances_of(sensed().site)]
    assert len(names) == len(TOLERANCES) + 2
    assert names[len(TOLERANCES) :] == [
        "gain of the current channel",
        "zero of the current channel",
    ]
