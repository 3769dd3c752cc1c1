"""What to buy for a site without safe limits: one change at a time, each tried out.

What is named here has limits: they were derived for the site with that change. Where no single
one does, a nozzle is tried with each other change.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

from rillkeeper import units
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import NoSafeLimit
from rillsim.site import BoardSpec, Site
from rillsim.supply.cable import awg_area_m2

NOZZLE_STEP_M = 1e-4
NOZZLE_SHARE_MAX = 1.6
"""A nozzle that is wider than this times the one that is there is another sprinkler; and one that
is as many times narrower."""
HOSE_BORES_M = (0.0127, 0.015875, 0.01905, 0.0254)
"""1/2, 5/8, 3/4 and 1 inch, as garden hose is sold."""
CABLES_AWG = (12, 10, 8, 6)
BATTERY_SHARES = (1.25, 1.5, 2.0)

PAIRS_MAX = 2

Change = tuple[str, Site]
"""What is bought, and the site with it."""


def named(site: Site) -> str:
    """What would give the site limits, as the end of its refusal; empty where nothing does."""
    found = [words for changes in _CHANGES if (words := _first_that_does(changes(site)))]
    found = found or _pairs(site)
    return "; limits exist with " + ", or with ".join(found) if found else ""


def _pairs(site: Site) -> list[str]:
    return [
        f"{words} and {nozzle}"
        for changes in (_hoses, _pumps, _channels)
        for words, changed in changes(site)
        if (nozzle := _first_that_does(_nozzles(changed)))
    ][:PAIRS_MAX]


def _first_that_does(changes: Iterator[Change]) -> str:
    for words, changed in changes:
        try:
            settings_of(changed)
        except NoSafeLimit:
            continue
        return words
    return ""


def _nozzles(site: Site) -> Iterator[Change]:
    bore_m = site.sprinkler.nozzle_bore_m
    most = int(bore_m * (NOZZLE_SHARE_MAX - 1.0) / NOZZLE_STEP_M)
    return (_nozzle(site, step) for step in range(1, most + 1))


def _narrower(site: Site) -> Iterator[Change]:
    """Where the water that stands in the line is too much of the pressure."""
    bore_m = site.sprinkler.nozzle_bore_m
    most = int(bore_m * (1.0 - 1.0 / NOZZLE_SHARE_MAX) / NOZZLE_STEP_M)
    return (_nozzle(site, -step) for step in range(1, most + 1))


def _nozzle(site: Site, steps: int) -> Change:
    """One that is so many steps wider."""
    bore_m = NOZZLE_STEP_M * (round(site.sprinkler.nozzle_bore_m / NOZZLE_STEP_M) + steps)
    words = f"a nozzle of {Shown(site.units).text(bore_m, 'bore')}"
    return words, replace(site, sprinkler=replace(site.sprinkler, nozzle_bore_m=bore_m))


def _hoses(site: Site) -> Iterator[Change]:
    for bore_m in HOSE_BORES_M:
        if bore_m > 1.01 * site.line.bore_m:
            words = f"a hose of {Shown(site.units).text(bore_m, 'bore')} bore"
            yield words, replace(site, line=replace(site.line, bore_m=bore_m))


def _pumps(site: Site) -> Iterator[Change]:
    if not site.pump.pressure_switch:
        words = "a pump that has a pressure switch of its own"
        yield words, replace(site, pump=replace(site.pump, pressure_switch=True))


def _cables(site: Site) -> Iterator[Change]:
    for gauge in CABLES_AWG:
        area_m2 = awg_area_m2(gauge)
        if area_m2 > 1.01 * site.cable.area_m2:
            words = f"a cable of {units.format(area_m2, 'wire section', site.units, 2)}"
            yield words, replace(site, cable=replace(site.cable, area_m2=area_m2))


def _batteries(site: Site) -> Iterator[Change]:
    for share in BATTERY_SHARES:
        charge_ah = share * site.battery.capacity_ah
        words = f"a battery of {charge_ah:.0f} Ah"
        yield words, replace(site, battery=site.battery.rated(charge_ah))


def _channels(site: Site) -> Iterator[Change]:
    board = site.board
    if not board.pressure_fitted:
        yield "the pressure transducer", replace(site, board=replace(board, pressure_fitted=True))
    if not board.current_fitted:
        yield "the current channel", replace(site, board=replace(board, current_fitted=True))


def _meters(site: Site) -> Iterator[Change]:
    usual = BoardSpec.flow_pulses_per_l
    if site.board.flow_fitted:
        words = f"a flow meter of {usual:g} pulses per litre"
        yield words, replace(site, board=replace(site.board, flow_pulses_per_l=usual))
        yield "no flow meter", replace(site, board=replace(site.board, flow_fitted=False))


_CHANGES: tuple[Callable[[Site], Iterator[Change]], ...] = (
    _meters,
    _nozzles,
    _narrower,
    _hoses,
    _pumps,
    _channels,
    _cables,
    _batteries,
)
