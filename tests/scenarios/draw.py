"""Draws sound sites from a seed: every part within what the trade would build."""

from dataclasses import replace

import numpy as np

from rillkeeper.design.limits.derive import NoSafeLimit, settings_of
from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.site import (
    BatterySpec,
    BoardSpec,
    CableSpec,
    LineSpec,
    PlotSpec,
    PumpSheet,
    SetSpec,
    Site,
    SprinklerSpec,
    SuctionSpec,
    WaterSource,
    WeatherSpec,
)
from rillsim.supply.cable import awg_area_m2
from rillsim.water.standing import runs_by_itself

INCH_M = 0.0254
GALLON_A_MINUTE_M3_S = 3.785411784e-3 / 60.0
SMALL_PUMP = PumpSheet(
    open_flow_m3_s=3.0 * GALLON_A_MINUTE_M3_S,
    open_current_a=4.5,
    max_current_a=9.5,
)
"""The 3 gal/min class: figures typical of its data sheets (common practice, no source)."""
PUMPS = (PumpSheet(), SMALL_PUMP)
LEAST_64THS = (9, 8)
WIDEST_64THS = 16
"""Nozzles as they are sold, in 64ths of an inch. At nine tenths of its shut-off pressure the
first pump gives 13.1 L/min: by the two sheets alone, hose and height forgotten, 8/64 in would hold
it above that, and 9/64 in is the least that anyone fits. The small pump takes either."""
CHARGE_SHARE = 0.8
"""The nights of a replay take no more than this share of what may be used."""


def draw_site(seed: int, nights: int) -> Site | None:
    """A site without faults that its battery can water for so many nights, or None.

    None where limits.py finds no safe limits, or the battery is too small: neither is
    the board's doing.
    """
    site = any_site(seed)
    return None if refused(site, nights) else site


def refused(site: Site, nights: int) -> str:
    """Why a site gives no sound nights: what `limits` says, or that its battery is too small."""
    try:
        lasts = nights_on_a_charge(site)
    except NoSafeLimit as error:
        return str(error)
    return "" if nights < lasts else "the battery is too small"


def nights_on_a_charge(site: Site) -> float:
    """How many nights the battery waters without coming near its end. Raises NoSafeLimit."""
    settings = settings_of(site)
    work = WorkingSite(site)
    night_mah = work.pump_on_s() / 3.6 * work.middle.point.current_a
    night_mah += 24.0 * settings["board_ua"] / 1000.0
    usable_mah = settings["capacity_mah"] - settings["reserve_mah"]
    return CHARGE_SHARE * usable_mah / night_mah


def any_site(seed: int) -> Site:
    """A site as it is drawn, with safe limits or without; where water would run by itself with the
    valve that is asked for there."""
    site = _drawn(seed)
    return replace(site, suction=replace(site.suction, stop_valve=runs_by_itself(site)))


def _drawn(seed: int) -> Site:
    rng = np.random.default_rng(seed)

    def between(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    def one_of(*choices: object) -> object:
        return choices[int(rng.integers(len(choices)))]

    small = bool(rng.integers(4) == 0)
    bores_m = (1 / 2, 5 / 8, 3 / 4)
    runs = int(rng.integers(1, 4))
    return Site(
        name=f"drawn site {seed}",
        water=WaterSource(
            altitude_m=between(0.0, 1500.0),
            temperature_c=between(5.0, 24.0),
            lift_m=between(-0.5, 1.7),
            fall_m_per_day=between(0.0, 0.05),
            cover_m=between(0.4, 1.5),
        ),
        suction=SuctionSpec(
            length_m=between(2.0, 5.0),
            bore_m=(1.0 if small else 1.5) * INCH_M / 2.0,
            foot_valve=str(one_of("poppet", "hinged")),
            strainer_k=between(1.0, 5.0),
        ),
        pump=PUMPS[small],
        line=LineSpec(
            length_m=between(10.0, 40.0),
            bore_m=float(rng.choice(bores_m)) * INCH_M,
            rise_m=between(-0.5, 2.5),
            modulus_pa=between(20e6, 50e6),
        ),
        sprinkler=SprinklerSpec(
            nozzle_bore_m=round(between(LEAST_64THS[small], WIDEST_64THS)) * INCH_M / 64.0
        ),
        cable=CableSpec(
            length_m=between(0.5, 2.5),
            area_m2=awg_area_m2(int(rng.choice((8, 10, 12)))),
            clamp_ohm=between(0.002, 0.006),
            temperature_c=between(5.0, 30.0),
        ),
        battery=BatterySpec(
            chemistry=str(one_of("flooded", "agm", "lfp")),
            capacity_ah=between(50.0, 120.0),
            age=between(0.0, 1.0),
            temperature_c=between(3.0, 30.0),
        ),
        plot=PlotSpec(deficit_mm=between(0.0, 25.0)),
        weather=WeatherSpec(
            day_of_year=int(rng.integers(110, 270)),
            t_max_c=between(18.0, 34.0),
            t_min_c=between(9.0, 17.0),
            rain_chance=between(0.0, 0.3),
            wind_m_s=between(0.5, 4.0),
        ),
        board=BoardSpec(
            battery_fitted=(battery := bool(rng.integers(6))),
            # Without both of the two no board pumps.
            pressure_fitted=bool(rng.integers(4)) or not battery,
            load_sense_fitted=bool(rng.integers(4)),
            current_fitted=not rng.integers(3),
            current_span_a=float(rng.choice((30.0, 100.0))),
            clock_backed=bool(rng.integers(4)),
        ),
        sets=(SetSpec(amount=float(rng.integers(5, 11)), runs=runs, soak_s=120),),
    )
