"""A cistern that the nights empty: its level is no trouble, and an empty one is the first."""

from dataclasses import replace

import numpy as np
import pytest

from rillkeeper.display_units import Shown
from rillkeeper.inquiry.why.answer import Inquiry
from rillkeeper.inquiry.why.attempts import attempts_of
from rillkeeper.inquiry.why.diagnosis import Diagnosis, diagnose
from rillkeeper.inquiry.why.hypotheses import effects_of, hypotheses_of
from rillkeeper.inquiry.why.onset import STEP, onsets_of
from rillkeeper.inquiry.why.signatures import SOURCE
from rillkeeper.inquiry.why.signs import SIGN_PLACE
from rillkeeper.runlog.lines import RunLog, read_log
from rillkeeper.runlog.nights import nights_of
from rillsim.replay import Week, replay
from rillsim.site import FaultSpec, Site
from tests.host.inquiry.why.conftest import Bench, fault

pytestmark = pytest.mark.xdist_group("why")


def cistern(bench: Bench, stored_m3: float) -> Site:
    """The bench's pond as a tank with 60 cm above the strainer; a night takes some 135 L."""
    return replace(bench.site, water=replace(bench.site.water, stored_m3=stored_m3))


def lived(bench: Bench, site: Site, nights: int, *faults: FaultSpec) -> tuple[Week, RunLog]:
    week = replay(site, bench.settings, nights=nights, seed=331, faults=faults, fast=True)
    return week, read_log(week.log)


def judged(bench: Bench, site: Site, log: RunLog) -> Diagnosis:
    evidence = nights_of(log, site.board).acted
    return diagnose(evidence, site, bench.settings, bench.signatures, 1)


def test_a_level_that_sinks_by_what_was_taken_is_as_it_should_be(bench: Bench) -> None:
    """40 cm in three nights are 4 kPa more of suction: known, next to nothing of it is left."""
    site = cistern(bench, 0.6)
    _, log = lived(bench, site, 3)
    known, unknown = judged(bench, site, log), judged(bench, bench.site, log)
    assert not known.named
    late = SIGN_PLACE["late_pressure"]
    off, raw = (abs(float(one.comparison.off[-1, late])) for one in (known, unknown))
    assert raw > 0.004
    assert off < 0.3 * raw


def test_an_empty_cistern_is_named_before_strainer_and_leak(bench: Bench) -> None:
    site = cistern(bench, 0.3)
    week, log = lived(bench, site, 3)
    assert week.trace.source_m3.min() < 0.03, "20 L are gone by the pond's own fall of 2 cm a day"
    found = judged(bench, site, log)
    assert found.first == ("source falling",)
    assert found.findings[0].probability > 0.9
    assert found.source_m3 == pytest.approx(0.022, abs=0.02)
    told = Inquiry(site, found, log, Shown("metric"))
    assert any("were left in the source" in note for note in told.notes)


def test_what_the_count_foretells_is_likelier_from_there_on(bench: Bench) -> None:
    """Only for the source, and only for onsets at once, from the half in which it runs out."""
    site = cistern(bench, 0.3)
    _, log = lived(bench, site, 3)
    evidence = nights_of(log, site.board).acted
    attempts = attempts_of(evidence)
    every = onsets_of(attempts)
    for effect in effects_of(evidence, attempts, site, bench.settings, bench.signatures):
        plain, foretold = (hypotheses_of(effect, attempts, 3, every, half) for half in (None, 5))
        likelier = foretold.log_prior > plain.log_prior + 1.0
        onsets = [plain.onsets[place] for place in plain.onset[likelier]]
        assert bool(onsets) == (effect.mode.key == SOURCE)
        assert all(one.shape == STEP and one.half >= 5 for one in onsets)


def test_a_strainer_in_a_full_cistern_is_still_a_strainer(bench: Bench) -> None:
    site = cistern(bench, 1.5)
    _, log = lived(bench, site, 4, fault("strainer_blocking", 0.85))
    assert judged(bench, site, log).first == ("strainer blocking",)


def test_a_tank_that_was_refilled_is_not_taken_for_empty(bench: Bench) -> None:
    """Four nights take 540 L; the site file says 300 L: no level is known, and no trouble made."""
    _, log = lived(bench, cistern(bench, 0.9), 4)
    told = cistern(bench, 0.3)
    found = judged(bench, told, log)
    assert not found.named
    assert np.isinf(found.source_m3)
    notes = Inquiry(told, found, log, Shown("metric")).notes
    assert any("its level is not known" in note for note in notes)


def test_a_pond_has_no_count(bench: Bench) -> None:
    _, log = lived(bench, bench.site, 1)
    assert np.isinf(judged(bench, bench.site, log).source_m3)
