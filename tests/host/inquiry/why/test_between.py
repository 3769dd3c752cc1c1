"""Between what was tried: severities, a softer hose, a battery of less capacity."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from rillkeeper.inquiry.why.attempts import attempts_of
from rillkeeper.inquiry.why.batteries import battery_bend
from rillkeeper.inquiry.why.hypotheses import _steps, effects_of, hypotheses_of
from rillkeeper.inquiry.why.onset import RAMP, onsets_of
from rillkeeper.inquiry.why.signs import SIGN_HALF, SIGN_PLACE, SIGNS
from rillkeeper.inquiry.why.trials import TOLERANCES
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from tests.host.inquiry.why.conftest import ONSET_NIGHT, Bench, fault


def test_what_grows_shows_what_lies_between_the_severities(bench: Bench) -> None:
    """Night by night, not the nearest that was tried."""
    evidence = nights_of(read_log(bench.week(341).log), bench.site.board).acted
    attempts = attempts_of(evidence)
    effects = effects_of(evidence, attempts, bench.site, bench.settings, bench.signatures)
    effect = next(one for one in effects if one.mode.key == "corroded_clamp")
    found = hypotheses_of(effect, attempts, 4, onsets_of(attempts))
    growing = [place for place, one in enumerate(found.onsets) if one.shape == RAMP]
    row = next(int(row) for row in np.flatnonzero(found.onset == growing[-1]) if row % 5 == 0)
    severity = found.worst[row] * found.onsets[growing[-1]].profile
    sign = SIGN_PLACE["resistance"]
    added = found.signs_of(row)[:, sign]
    for attempt, more in enumerate(added):
        here = severity[2 * attempt + SIGN_HALF[sign]]
        table = effect.signs[:, attempt, sign]
        assert more == pytest.approx(np.interp(here, effect.severities, table))
    assert len(set(np.round(added[added > 0.0], 6))) > 1


def test_a_severity_between_two_parts_counts_as_much_as_one_on_a_part() -> None:
    """Of something that grows evenly: the parts' Gaussians, each as wide as its step, add up to
    the same everywhere (scipy's normal density)."""
    shown = np.arange(20.0)
    steps = _steps(shown[:, None])[:, 0]
    found = [norm.pdf(severity, shown[1:], steps[1:]).sum() for severity in (9.0, 9.25, 9.5)]
    assert found == pytest.approx([1.0] * 3, rel=0.03)


def test_a_softer_hose_is_tried_as_well_as_a_stiffer_one(bench: Bench) -> None:
    """A look that finds the stiffer one empty tells nothing; the sound site may be the softer."""
    names = [one.name for one in TOLERANCES]
    stiffer, softer = (
        bench.signatures.tolerances[names.index(name), 0, SIGN_PLACE["decay_500"]]
        for name in ("stiffness of the hose, 30 %", "softness of the hose, 30 %")
    )
    assert stiffer < 0.0 < softer


def test_a_lithium_battery_bends_where_a_lead_one_hardly_does(bench: Bench) -> None:
    """Where its voltage has a step, less capacity is not twice as much as half of it."""
    evidence = nights_of(read_log(bench.week(342, nights=7).log), bench.site.board).acted
    rest = SIGN_PLACE["rest_voltage"]
    bends = {}
    for chemistry in ("flooded", "lfp"):
        battery = replace(bench.site.battery, chemistry=chemistry).rated(25.0)
        site = replace(bench.site, battery=battery)
        bends[chemistry] = battery_bend(site, bench.settings, evidence.runs)
    lead_v, lithium_v = (one[:, rest].max() for one in bends.values())
    assert lithium_v > 2.0 * max(lead_v, SIGNS[rest].floor)
    assert not bends["lfp"][:, SIGN_PLACE["early_pressure"]].any()


@pytest.mark.parametrize("severity", [0.06, 0.1])
def test_a_burst_hose_stands_otherwise_once_a_run_has_passed(
    bench: Bench, severity: float
) -> None:
    """What stands in the hose is as the last run left it: no second trouble is made of that.

    Sound, it is the head of the water up to the nozzle, rho g h (hydrostatics). A hole lets the
    hose run empty; once the pump has run against it, what hangs under the pump draws on the gauge.
    """
    found = bench.judge(bench.week(343, fault("hose_burst", severity), nights=6), troubles=4)
    rest_pa = [run.rest_pa or 0 for run in found.evidence.runs]
    first = 2 * (ONSET_NIGHT - 1)
    zero_pa = 2000.0  # The zero of this transducer is within that.
    assert rest_pa[0] == pytest.approx(998.0 * 9.80665 * bench.site.line.rise_m, abs=zero_pa)
    assert rest_pa[first] == pytest.approx(0.0, abs=zero_pa)
    assert max(rest_pa[first + 1 :]) < -zero_pa
    assert [trouble.names for trouble in found.troubles] == [("hose burst or slipped",)]


def test_a_run_cut_for_its_pressure_had_it_all_along(bench: Bench) -> None:
    """Five seconds after prime, in its minutes and at its stop: in a steady flow it is one."""
    pressures = [SIGN_PLACE[f"{when}_pressure"] for when in ("start", "early", "late", "stop")]
    for mode in ("strainer_blocking", "hose_burst"):
        signature = bench.signatures.modes[mode]
        cut = [place for place, ends in enumerate(signature.outcomes) if "line open" in ends]
        assert cut
        for place in cut:
            assert np.ptp(signature.effects[place][:, pressures], axis=1).max() < 0.1
