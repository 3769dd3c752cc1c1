"""How far a sound site may be from its own site file, one input at a time.

Each row moves one input by one standard deviation. What follows from it in the readings comes
from the plant; together they are what a site may be off by without anything being wrong.
Deviations without a source are common practice.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from rillsim.boards.sensors import (
    BATTERY,
    GAIN_SPREAD,
    OFFSET_SPREAD_COUNTS,
    PRESSURE,
    Sensors,
)
from rillsim.site import Site

Change = Callable[[Site], Site]
Shift = Callable[[Sensors], None]


@dataclass(frozen=True)
class Tolerance:
    """One input that is only known so well; one of the two changes."""

    name: str
    site: Change | None = None
    sensors: Shift | None = None


def _water(site: Site) -> Site:
    return replace(site, water=replace(site.water, lift_m=site.water.lift_m + 0.1))


def _nozzle(site: Site) -> Site:
    bore_m = 1.015 * site.sprinkler.nozzle_bore_m
    return replace(site, sprinkler=replace(site.sprinkler, nozzle_bore_m=bore_m))


def _hose(site: Site) -> Site:
    return replace(site, line=replace(site.line, bore_m=1.03 * site.line.bore_m))


def _wall(site: Site) -> Site:
    return replace(site, line=replace(site.line, modulus_pa=1.3 * site.line.modulus_pa))


def _rise(site: Site) -> Site:
    return replace(site, line=replace(site.line, rise_m=site.line.rise_m + 0.07))


def _suction(site: Site) -> Site:
    return replace(site, suction=replace(site.suction, strainer_k=1.5 * site.suction.strainer_k))


def _flow(site: Site) -> Site:
    flow_m3_s = 1.05 * site.pump.open_flow_m3_s
    return replace(site, pump=replace(site.pump, open_flow_m3_s=flow_m3_s))


def _current(site: Site) -> Site:
    pump = site.pump
    return replace(
        site,
        pump=replace(
            pump,
            open_current_a=1.05 * pump.open_current_a,
            max_current_a=1.05 * pump.max_current_a,
        ),
    )


def _clamps(site: Site) -> Site:
    return replace(site, cable=replace(site.cable, clamp_ohm=site.cable.clamp_ohm + 0.002))


def _contact(site: Site) -> Site:
    return replace(site, cable=replace(site.cable, relay_ohm=site.cable.relay_ohm + 0.002))


def _gain(channel: int) -> Shift:
    def shift(sensors: Sensors) -> None:
        sensors.gain[channel] *= 1.0 + GAIN_SPREAD[channel]

    return shift


def _offset(channel: int) -> Shift:
    def shift(sensors: Sensors) -> None:
        sensors.offset[channel] += OFFSET_SPREAD_COUNTS[channel]

    return shift


TOLERANCES = (
    Tolerance("height over the water, 10 cm", _water),
    Tolerance("nozzle bore, 1.5 %", _nozzle),
    Tolerance("hose bore, 3 %", _hose),
    Tolerance("stiffness of the hose, 30 %", _wall),
    Tolerance("height of the nozzle, 7 cm", _rise),
    Tolerance("loss of the clean strainer, 50 %", _suction),
    Tolerance("open flow of the pump, 5 %", _flow),
    Tolerance("current of the pump, 5 %", _current),
    Tolerance("clamps, 2 mohm", _clamps),
    Tolerance("relay contact, 2 mohm", _contact),
    Tolerance("gain of the pressure channel", sensors=_gain(PRESSURE)),
    Tolerance("zero of the pressure channel", sensors=_offset(PRESSURE)),
    Tolerance("gain of the battery channel", sensors=_gain(BATTERY)),
    Tolerance("zero of the battery channel", sensors=_offset(BATTERY)),
)
"""Those of the battery are in ``batteries.py``: each battery has its own."""
