"""Troubles and tolerances of the battery: reckoned along the log's own nights.

What a battery shows depends on all that was taken from it before. So its signatures are not
tried out: the plant's model of the troubled battery is led through the very charge and time
that the log tells of, beside the sound one.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import log

import numpy as np
from numpy.typing import NDArray

from rillkeeper.inquiry.learn.inputs import with_battery_ohm
from rillkeeper.inquiry.why.signs import SIGN_COUNT, SIGN_PLACE
from rillkeeper.inquiry.why.sound_site import BatteryChange, ExpectedSupply, SupplyCourse
from rillkeeper.runlog.runs import Run
from rillsim.faults.catalogue import find
from rillsim.faults.conditions import Conditions
from rillsim.rig import Rig
from rillsim.site import BatterySpec, Site
from rillsim.supply.battery import Battery, Kept

Floats = NDArray[np.float64]

SpecChange = Callable[[BatterySpec], BatterySpec]

CAPACITY_SPREAD = 0.12
SPREADS: tuple[tuple[str, SpecChange, float], ...] = (
    ("capacity", lambda spec: spec.rated((1.0 - CAPACITY_SPREAD) * spec.capacity_ah), 0.0),
    ("age, a sixth", lambda spec: spec.at_age(min(1.0, spec.lived + 0.16)), 0.0),
    (
        "warmth, 4 C",
        lambda spec: replace(spec, temperature_c=spec.temperature_c - 4.0),
        0.0,
    ),
    ("resistance, 15 %", lambda spec: with_battery_ohm(Site(battery=spec), 1.15).battery, 0.0),
    ("charge when put on, 4 %", lambda spec: spec, 0.04),
)
"""What each battery may be off by without a fault, and the share of a charge that it lacks: one
standard deviation each (common practice, no source)."""


def battery_effects(
    site: Site,
    settings: dict[str, int],
    runs: Sequence[Run],
    fault: str,
    severities: Sequence[float],
) -> Floats:
    """Severity (from nothing) by run by sign."""
    sound = SupplyCourse(site, settings).along(runs)
    rows = [np.zeros((len(runs), SIGN_COUNT))]
    rig = Rig(site)
    for severity in severities:
        course = SupplyCourse(site, settings, _spoiled(rig, fault, severity)).along(runs)
        rows.append(_difference(sound, course))
    return np.array(rows)


def battery_bend(site: Site, settings: dict[str, int], runs: Sequence[Run]) -> Floats:
    """How far the tolerances, which go straight, miss a battery of another capacity; run by sign.

    Its voltage over its charge has steps (a lithium cell's more than a lead one's), and a battery
    of less capacity comes to them sooner. One deviation of :math:`H x^2 / 2` with a standard
    normal x, and H by the second difference.
    """
    sound = SupplyCourse(site, settings).along(runs)

    def with_less(missing: float) -> Floats:
        spec = site.battery.rated((1.0 - missing) * site.battery.capacity_ah)
        course = SupplyCourse(site, settings, _other(site, lambda _: spec, 0.0)).along(runs)
        return _difference(sound, course)

    once, twice = with_less(CAPACITY_SPREAD), with_less(2.0 * CAPACITY_SPREAD)
    return np.asarray(np.abs(twice - 2.0 * once) / 2.0**0.5)


def battery_tolerances(site: Site, settings: dict[str, int], runs: Sequence[Run]) -> Floats:
    """Spread and battery (each its own) by run by sign; then each that may have been charged where
    it stands."""
    sound = SupplyCourse(site, settings).along(runs)
    on = np.array([run.battery for run in runs])
    rows = []
    for _, spec, missing in SPREADS:
        course = SupplyCourse(site, settings, _other(site, spec, missing)).along(runs)
        difference = _difference(sound, course)
        rows += [difference * (on == battery)[:, None] for battery in np.unique(on)]
    charged = SupplyCourse(site, settings, charged_in_place=True).along(runs)
    difference = _difference(sound, charged)
    stands = np.unique([run.battery for run in runs if run.stands])
    rows += [difference * (on == battery)[:, None] for battery in stands]
    return np.array(rows) if rows else np.zeros((0, len(runs), SIGN_COUNT))


def _spoiled(rig: Rig, fault: str, severity: float) -> BatteryChange:
    """The plant's own battery under a fault of the catalogue; until the next one is asked for."""
    conditions = Conditions()
    find(fault).act(conditions, severity)
    rig.apply(conditions, rig.full_and_still(), False)
    state = rig.stepper.battery

    def change(battery: Battery) -> Battery:
        state.restore(_less(battery, conditions.charge_missing))
        return state

    return change


def _other(site: Site, spec: SpecChange, missing: float) -> BatteryChange:
    """A sound battery that is not quite the one of the site file."""
    other = Battery(spec(site.battery))

    def change(battery: Battery) -> Battery:
        other.restore(_less(battery, missing))
        return other

    return change


def _less(battery: Battery, missing: float) -> Kept:
    """The state of a rested battery with a share of a full charge taken out."""
    if missing <= 0.0:
        return battery.save()
    charge = max(0.02, battery.soc - missing)
    return Battery(battery.spec, charge, battery.temperature_c).save()


def _difference(sound: Sequence[ExpectedSupply], other: Sequence[ExpectedSupply]) -> Floats:
    """What the signs read more with the other battery than with the sound one."""
    rows = np.zeros((len(sound), SIGN_COUNT))
    for row, here, there in zip(rows, sound, other, strict=True):
        row[SIGN_PLACE["rest_voltage"]] = there.rest_v - here.rest_v
        row[SIGN_PLACE["resistance"]] = log(max(there.learned_ohm, 1e-4) / here.learned_ohm)
        row[SIGN_PLACE["jump_back"]] = log(there.ohmic_ohm / here.ohmic_ohm)
        if there.fall_v is not None and here.fall_v is not None:
            row[SIGN_PLACE["fall"]] = there.fall_v - here.fall_v
    return rows
