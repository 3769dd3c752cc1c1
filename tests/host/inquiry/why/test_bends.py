"""A trouble on another hose than the file's, and at another voltage."""

from dataclasses import replace

import numpy as np
import pytest

from rillkeeper.inquiry.why.bends import BENDING, Bend, Shown, bend_of, well_felt
from rillkeeper.inquiry.why.signatures import RESTED, SOAKED
from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGN_PLACE, SIGNS
from rillkeeper.inquiry.why.trials import TOLERANCES
from tests.host.inquiry.why.conftest import Bench

EARLY, LATE, DECAY = (SIGN_PLACE[key] for key in ("early_pressure", "late_pressure", "decay_500"))
SOUND_ENDS = (("fine", "fine"),)


def bend(bench: Bench, key: str) -> Bend:
    found = bench.signatures.modes[key].bend
    assert found is not None
    return found


def rising(*changes: float) -> np.ndarray:
    """Effects that change the early pressure so far, severity by state by sign."""
    effects = np.zeros((len(changes), 2, SIGN_COUNT))
    effects[:, :, EARLY] = np.array(changes)[:, None]
    return effects


def test_what_bends_is_the_way_to_the_nozzle() -> None:
    assert [TOLERANCES[place].name.split(",")[0] for place in BENDING] == [
        *("nozzle bore", "hose bore", "stiffness of the hose", "softness of the hose"),
    ]


def test_it_is_tried_further_where_it_is_well_felt_and_no_run_is_cut() -> None:
    ends = SOUND_ENDS * 4
    assert well_felt(rising(0.0, -0.02, -0.13, -0.3), ends) == 2
    assert well_felt(rising(0.0, 0.02, 0.04, 0.049), ends) is None
    assert well_felt(rising(0.0, -0.5, -1.0, -2.0), ends) is None
    cut = (*SOUND_ENDS * 2, ("fine", "open line"), *SOUND_ENDS)
    assert well_felt(rising(0.0, -0.02, -0.13, -0.3), cut) == 3


def test_what_is_changed_grows_with_the_trouble_no_further_than_it_was_tried() -> None:
    """Half of it at half of the severity; a run that read no voltage is as it was tried."""
    by_tolerance = np.zeros((1, 2, SIGN_COUNT))
    by_tolerance[0, :, DECAY] = 0.04
    by_volt = np.zeros((2, SIGN_COUNT))
    by_volt[:, EARLY] = by_volt[:, LATE] = 0.1
    one = Bend(2, by_tolerance, by_volt, np.array([12.5, 12.4]))
    effects = rising(0.0, -0.1, -0.2, -0.8)
    state = np.array([RESTED, SOAKED, RESTED])
    volts = np.array([[12.5, 12.3], [12.0, 11.9], [np.nan, np.nan]])
    bent = one.bending(effects, state)[:, :, DECAY, 0]
    assert bent.T == pytest.approx(np.tile([0.0, 0.02, 0.04, 0.04], (3, 1)))
    leaning = one.leaning(effects, state, volts)
    share = np.array([0.0, 0.5, 1.0, 1.0])
    assert leaning[:, 0, EARLY] == pytest.approx(share * 0.0)
    assert leaning[:, 0, LATE] == pytest.approx(share * 0.02)
    assert leaning[:, 1, EARLY] == pytest.approx(share * 0.04)
    assert leaning[:, 1, LATE] == pytest.approx(share * 0.05)
    assert not leaning[:, 2].any()


def test_a_battery_that_hardly_sinks_tells_of_no_course() -> None:
    """As of a lithium one: by so little a difference noise is not to be divided."""
    zero = np.zeros((2, SIGN_COUNT))
    trouble, low = zero.copy(), zero.copy()
    low[:, EARLY] = 0.01
    volts = np.array([13.0, 13.0])
    found = bend_of(
        1,
        (Shown(trouble, volts), Shown(zero, volts)),
        ([Shown(zero, volts)], zero[None]),
        (Shown(low, volts - np.array([0.05, 0.2])), Shown(zero, volts)),
    )
    assert not found.by_volt[RESTED].any()
    assert found.by_volt[SOAKED, EARLY] == pytest.approx(0.05)


def test_a_strainer_takes_less_at_a_lower_voltage_and_a_worn_pump_the_same(bench: Bench) -> None:
    """Losses go with the square of the flow (Darcy and Weisbach's equation, from memory): with a
    slower pump a part of the pressure that was lost comes back. Valves that leak give a share of
    each stroke."""
    strainer, worn = bend(bench, "strainer_blocking"), bend(bench, "pump_worn")
    floor = SIGNS[EARLY].floor
    assert strainer.by_volt[RESTED, EARLY] > 5.0 * floor
    assert abs(worn.by_volt[RESTED, EARLY]) < floor


def test_a_stiffer_hose_bends_as_one_that_empties_through_an_orifice(bench: Bench) -> None:
    """Torricelli's law: the root of the pressure falls evenly to nothing in a time T, which a
    stiffer hose has the shorter and a blocked nozzle the longer (from memory)."""
    left = float(bench.signatures.healthy[0, RESTED, DECAY])
    blocked = bench.signatures.modes["sprinkler_blocked"]
    found = bend(bench, "sprinkler_blocked")
    effect = float(blocked.effects[found.place, RESTED, DECAY])
    sound, slower = 1.0 - left**0.5, 1.0 - (left + effect) ** 0.5
    names = [TOLERANCES[place].name for place in BENDING]
    for name, quicker in (("stiffness", 1.3), ("softness", 1.0 / 1.3)):
        place = names.index(f"{name} of the hose, 30 %")
        expected = (1.0 - quicker * slower) ** 2 - (1.0 - quicker * sound) ** 2 - effect
        assert abs(expected) > SIGNS[DECAY].floor
        assert found.by_tolerance[place, RESTED, DECAY] == pytest.approx(expected, rel=0.5)


def test_without_a_bend_a_trouble_is_as_it_was_tried(bench: Bench) -> None:
    """The signs of a run at the voltage of the trial, and of a mode that is not tried further."""
    state = np.array([RESTED, SOAKED])
    plain = bench.signatures.modes["corroded_clamp"]
    assert plain.bend is None
    assert plain.bending(state) is None
    volts = np.full((2, 2), 11.0)
    assert np.array_equal(plain.effects_at(state, volts), plain.effects[:, state])
    one = bench.signatures.modes["strainer_blocking"]
    at_trial = np.repeat(bend(bench, "strainer_blocking").volts[:, None], 2, axis=1)
    assert one.effects_at(state, at_trial) == pytest.approx(one.effects[:, state])
    assert not replace(one, bend=None).effects_at(state, volts)[0].any()
