"""`learn` on a cistern that its nights empty."""

from dataclasses import replace

import numpy as np

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.inquiry.learn import learn
from rillkeeper.inquiry.learn.inputs import inputs_of
from rillkeeper.inquiry.learn.model import SPREADS, Model, Quantity, readings_of, runs_of
from rillkeeper.inquiry.learn.summary import notes
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.nights import nights_of
from rillsim.replay import replay
from rillsim.site import SetSpec
from tests.host.inquiry.learn_cases import thought


def test_a_cistern_is_led_down_by_what_it_gave() -> None:
    """1.7 m of water go in four nights, 17 kPa of suction. Known, all pressures are off alike, by
    the transducer's own error; as a pond that stays, by more than is usual between them."""
    base = thought()
    water = replace(base.water, lift_m=0.1, cover_m=2.0, stored_m3=1.0, fall_m_per_day=0.0)
    sets = (SetSpec(22 * 3600, amount=12.0),)
    site = replace(base, water=water, sets=sets, pump=replace(base.pump, dry_lift_m=3.0))
    log = read_log(replay(site, settings_of(site), nights=4, seed=5, fast=True).log)
    evidence = nights_of(log, site.board)
    pond = replace(site, water=replace(water, stored_m3=0.0))
    apart = []
    for known in (site, pond):
        runs = runs_of(known, evidence.runs)
        readings = [one for one in readings_of(runs) if one.quantity is Quantity.PRESSURE_PA]
        model = Model(known, tuple(inputs_of(known)), tuple(runs), tuple(readings), (1.0,))
        apart.append(float(np.ptp(model.predict(np.zeros(model.count)) / model.recorded)))
    emptier = replace(site, water=replace(water, stored_m3=0.3))
    assert not any(lived.sunk.known for lived in runs_of(emptier, evidence.runs))
    told = notes(learn(emptier, evidence))
    assert any("it was refilled, and its level is not known" in note for note in told)
    assert apart[0] < SPREADS[Quantity.PRESSURE_PA]
    assert apart[1] > 3.0 * SPREADS[Quantity.PRESSURE_PA]
