"""What grows begins at some hour of the day: its second and third night tell which, and what."""

from dataclasses import replace

import numpy as np
import pytest

from rillkeeper.inquiry.why.attempts import attempts_of
from rillkeeper.inquiry.why.hypotheses import effects_of, hypotheses_of
from rillkeeper.inquiry.why.onset import RAMP, onsets_of
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillsim.site import FaultSpec
from tests.host.inquiry.why.conftest import Bench

pytestmark = pytest.mark.xdist_group("why")

DAY_S = 86400.0


@pytest.mark.parametrize("hours", [-5.0, -1.0])
@pytest.mark.parametrize(
    ("fault", "cause"),
    [("sprinkler_blocked", "sprinkler blocked"), ("air_leak", "suction air leak")],
)
def test_it_is_named_after_three_nights_whatever_the_hour(
    bench: Bench, fault: str, cause: str, hours: float
) -> None:
    """Taken for one that began at noon, each of these was another cause for certain: a kink, which
    shows late and then fast, or a worn pump."""
    grows = FaultSpec(fault, 2, hours * 3600.0, 1.0, grows_s=12 * DAY_S)
    assert cause in bench.judge(bench.week(7, grows)).first


def test_a_later_hour_is_the_same_trouble_a_little_milder(bench: Bench) -> None:
    """Severity less the hours that it lacks, in every night of it; and so in what it adds."""
    evidence = nights_of(read_log(bench.week(341).log), bench.site.board).acted
    attempts = attempts_of(evidence)
    effects = effects_of(evidence, attempts, bench.site, bench.settings, bench.signatures)
    effect = next(one for one in effects if one.mode.key == "corroded_clamp")
    onsets = [one for one in onsets_of(attempts) if one.shape == RAMP and one.night == 1]
    found = hypotheses_of(effect, attempts, 4, onsets)
    rows = np.arange(len(found.worst))
    later = found.later(rows)
    at_once = replace(found, onsets=tuple(replace(one, later=None) for one in onsets))
    assert np.array_equal(at_once.later(rows), found.courses.places)
    begun = found.courses.places > 0.0
    assert (later[begun] < found.courses.places[begun]).sum() > 0.5 * begun.sum()
    assert (later <= found.courses.places).all()
    for one in onsets:
        assert one.later is not None
        rising = (one.profile > 0.0) & (one.profile < 1.0)
        lacks = one.profile[rising] - one.later[rising]
        assert lacks == pytest.approx(lacks[0])
