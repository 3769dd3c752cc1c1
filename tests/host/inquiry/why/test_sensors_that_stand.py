"""A transducer whose port is clogged and a flow meter that stands still: named, and not its rival.

Both look like want of water. The sites with a meter are tried out for the causes alone that look
like them, which takes a quarter of the time.
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
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.held import held_effects
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.inquiry.why.signatures import RESTED
from rillkeeper.inquiry.why.signs import DRY_SAG, SIGN_PLACE, SignReader
from rillkeeper.inquiry.why.small_tests.bank import Bank
from rillkeeper.inquiry.why.sound_site import NormalPressure
from rillkeeper.inquiry.why.trials import TOLERANCES, tolerances_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import NightLog, nights_of
from rillsim.faults.catalogue import find
from rillsim.site import FaultSpec
from tests.host.inquiry.why.conftest import ONSET_NIGHT, Bench, fault, known_bench

pytestmark = pytest.mark.xdist_group("why")

METER, SENSOR = "flow meter stuck or slow", "pressure sensor off or stuck"
SOURCE = "source falling"
RIVALS = (SOURCE, "strainer blocking", "sprinkler blocked")
IN_RUN_S = 120.0
FLOWS = [SIGN_PLACE[key] for key in ("early_flow", "late_flow")]
SAG = SIGN_PLACE[DRY_SAG]


def in_a_run(name: str) -> FaultSpec:
    """It comes in the first run of that night."""
    return FaultSpec(name, ONSET_NIGHT, IN_RUN_S)


@pytest.fixture(scope="module")
def few() -> Iterator[None]:
    """Only the meter and its rivals are tried and weighed."""
    chosen = tuple(cause for cause in CAUSES if cause.name in (METER, *RIVALS))
    with pytest.MonkeyPatch.context() as patch:
        for module in (signatures, hypotheses, rank):
            patch.setattr(module, "CAUSES", chosen)
        yield


@cache
def metered(transducer: bool) -> Bench:
    """The same site with a meter, beside a transducer or alone; tried out once."""
    plain = known_bench()
    board = replace(plain.site.board, flow_fitted=True, pressure_fitted=transducer)
    site = replace(plain.site, board=board)
    settings = settings_of(site)
    return Bench(plain.text, site, settings, signatures.work_out(site, settings))


def evidence_of(bench: Bench, *faults: FaultSpec) -> NightLog:
    return nights_of(read_log(bench.week(351, *faults).log), bench.site.board).acted


def since(found: Diagnosis) -> int:
    """Number of the night in which the first trouble began."""
    return found.findings[0].since - found.evidence.nights[0].day + 1


@pytest.mark.parametrize("comes", ["in a run", "before the night"])
def test_a_clogged_port_is_named_without_a_meter(bench: Bench, comes: str) -> None:
    """In a run it looks like a relay that does not open, at rest like a strainer that is shut."""
    name = "pressure_port_clogged"
    found = bench.judge(bench.week(351, in_a_run(name) if comes == "in a run" else fault(name, 1)))
    assert found.first == (SENSOR,)
    assert since(found) == ONSET_NIGHT
    first = found.findings[0]
    assert first.mode.fault == name
    assert first.mode.in_a_run == (comes == "in a run")
    if not first.mode.in_a_run:
        assert "loaded as with water" in evidence_words(found, first, Shown())


def test_a_dry_source_is_still_told_from_a_clogged_port(bench: Bench) -> None:
    """A pump that turns on air takes less."""
    bare = 1.05 * bench.site.water.cover_m
    found = bench.judge(bench.week(351, fault("source_falling", bare)))
    assert found.first == (SOURCE,)
    sag = found.comparison.off[:, SAG]
    assert np.nanmax(sag) < -0.5


def test_a_wheel_that_stands_still_is_not_taken_for_a_dry_source(few: None) -> None:
    """With a meter alone nothing else sees the water; the pump is loaded as with it."""
    bench = metered(False)
    found = bench.judge(bench.week(351, in_a_run("meter_stuck")))
    assert found.first == (METER,)
    assert since(found) == ONSET_NIGHT
    (source,) = (one for one in found.findings if one.cause.name == SOURCE)
    assert source.probability < 0.05
    bare = 1.05 * bench.site.water.cover_m
    assert bench.judge(bench.week(351, fault("source_falling", bare))).first == (SOURCE,)


@pytest.mark.parametrize("severity", [0.4, 1.0])
def test_a_wheel_beside_a_transducer(few: None, severity: float) -> None:
    """One that is slow gives too few litres for this pressure; of one that stands the board
    itself says so."""
    bench = metered(True)
    found = bench.judge(bench.week(351, fault("meter_stuck", severity)))
    assert found.first == (METER,)
    assert since(found) == ONSET_NIGHT
    told = evidence_words(found, found.findings[0], Shown())
    if severity < 1.0:
        assert found.findings[0].severity == pytest.approx(severity, rel=0.35)
        assert "metered flow 4" in told
    else:
        assert "flow meter stands still" in told


@pytest.mark.parametrize("transducer", [True, False])
def test_a_sound_meter(few: None, transducer: bool) -> None:
    bench = metered(transducer)
    found = bench.judge(bench.week(351))
    assert found.first == ()
    assert not np.isnan(found.comparison.off[:, FLOWS]).any()


def test_no_litres_are_read_where_there_is_no_meter_or_it_stands(bench: Bench, few: None) -> None:
    """The board then writes what the pressure says, which is told already."""
    log = evidence_of(bench)
    assert np.isnan(SignReader(bench.site, bench.settings).signs(log).values[:, FLOWS]).all()
    with_one = metered(True)
    log = evidence_of(with_one, fault("meter_stuck", 1.0))
    read = SignReader(with_one.site, with_one.settings).signs(log).values[:, FLOWS]
    stood = {night.day for night in log.nights if night.meter_stood}
    assert stood
    for run, values in zip(log.runs, read, strict=True):
        assert np.isnan(values).all() == (run.night in stood)


def test_they_are_offered_only_where_the_sensor_is_fitted(bench: Bench) -> None:
    assert METER not in {one.cause.name for one in bench.judge(bench.week(321)).findings}
    assert "meter_stuck" not in bench.signatures.modes
    board = bench.site.board
    for cause in CAUSES:
        for mode in cause.modes:
            assert mode.needs in ("pressure_fitted", find(mode.fault).needs)
            if mode.needs:
                assert mode not in cause.modes_on(replace(board, **{mode.needs: False}))
                assert mode in cause.modes_on(replace(board, **{mode.needs: True}))
    assert tolerances_of(bench.site) == TOLERANCES
    with_one = replace(bench.site, board=replace(board, flow_fitted=True))
    assert len(tolerances_of(with_one)) == len(TOLERANCES) + 1


def test_what_stands_is_the_pressure_of_its_moment(bench: Bench) -> None:
    """Against the site's own pressures: over the voltages that the board read, each way."""
    signature = bench.signatures.modes["pressure_port_clogged in a run"]
    normal = NormalPressure(bench.site)
    volts = np.array([[12.4, 12.2], [np.nan, np.nan]])
    severities, signs = held_effects(signature, np.array([RESTED, RESTED]), volts, normal)
    early, late = (SIGN_PLACE[f"{when}_pressure"] for when in ("early", "late"))
    assert len(severities) == len(signs)
    assert not signs[0].any()
    fallen = np.log(normal.at(12.4) / normal.at(12.2))
    assert signs[-1, 0, [early, late]] == pytest.approx([0.0, fallen])
    assert signs[1, 0, [early, late]] == pytest.approx([-fallen, 0.0])
    assert not signs[:, 1, [early, late]].any()


def test_a_small_test_behind_a_port_that_clogged_in_a_run(bench: Bench) -> None:
    """The transducer goes on showing the pressure of before, and the board stops a start that does
    not move it."""
    bank = Bank(
        bench.site,
        bench.settings,
        [("pressure_port_clogged", 1.0)],
        in_a_run=["pressure_port_clogged"],
    )
    held_pa = bank.runs[0].decay[-1].pressure_pa
    assert bank.runs[0].rest_pa is not None
    assert bank.runs[0].rest_pa < 0.3 * held_pa
    assert bank.settled() is None
    assert bank.runs[-1].rest_pa == pytest.approx(held_pa, rel=0.01)
