"""Nights on one charge: the kinetic battery of the plant, night after night, until it is spent."""

from dataclasses import dataclass, replace
from math import inf, isfinite

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.design.size.sun import Sun, sun_of
from rillsim.root import root
from rillsim.site import BatterySpec, Site
from rillsim.supply.battery import Battery
from rillsim.supply.cycle_life import cycle_life

NIGHTS_MAX = 60.0
"""Beyond that self-discharge and forgetting decide, not the pump."""
WANTED = 3
"""Nights between two trips home where the site file names none: common practice, no source."""
_SMALLEST_AH, LARGEST_AH = 0.01, 400.0
_RATING_AH = 0.05
_STEPS = 12
_DAY_H = 24.0
APART_K = 5.0
"""A battery in its box is as warm as the day's mean; farther than so from what the site file says
of it, both are shown."""
DEPTHS = (0.3, 0.5, 0.8)
"""At which the price of a deeper use is shown."""
_SUN_STEPS = 24
"""A battery sees only at the end of a step that it is full."""


@dataclass(frozen=True)
class NightLoad:
    """What a night asks of the battery."""

    current_a: float
    pump_h: float
    board_awake_a: float
    board_asleep_a: float
    cable_ohm: float
    """Between the posts and the motor."""
    minimum_v: float
    """At the motor."""

    @property
    def pump_ah(self) -> float:
        """For the pump each night [Ah]."""
        return self.current_a * self.pump_h

    @property
    def board_ah(self) -> float:
        """For the board each day and night [Ah]."""
        rest_h = max(0.0, _DAY_H - self.pump_h)
        return self.board_awake_a * self.pump_h + self.board_asleep_a * rest_h


@dataclass(frozen=True)
class ChargeCase:
    """One charge in one condition."""

    name: str
    temperature_c: float
    age: float
    usable_ah: float
    nights: float
    """Whole nights and the part of the next; NIGHTS_MAX stands for more."""
    ends_by: str
    """"charge": the chosen depth is reached; "volts": the motor gets too little."""


@dataclass(frozen=True)
class DepthPrice:
    """What it costs to use more of each charge."""

    depth: float
    nights: float
    """On one charge, the battery as the site file has it."""
    charges: float
    """In its life."""


@dataclass(frozen=True)
class Nights:
    """The battery's side of the sizing."""

    load: NightLoad
    depth: float
    """Share of its charge that the battery may give."""
    wanted: int
    cases: tuple[ChargeCase, ...]
    """The first is the battery as the site file has it; the last two with its panel, if any. One
    before them is in the weather's own warmth where that is far from it."""
    size_wanted_ah: float | None
    """Smallest rating that gives the wanted nights; none up to LARGEST_AH."""
    one_go_h: float
    """Pumping without a pause until a full battery is empty."""
    charges: float
    """Charges in its life at that depth."""
    prices: tuple[DepthPrice, ...]
    """The chosen depth among others, rising."""
    sun: Sun | None


def nights_wanted(site: Site) -> int:
    """The longest stretch of nights between two trips home, from the site file."""
    if site.home.every_nights:
        return site.home.every_nights
    trips = sorted(trip.after_night for trip in site.battery_trips)
    return max((b - a for a, b in zip([0, *trips], trips, strict=False)), default=WANTED)


def load_of(work: WorkingSite) -> NightLoad:
    """What a night of this site asks, battery half used."""
    board = work.site.board
    return NightLoad(
        current_a=work.middle.point.current_a,
        pump_h=min(work.pump_on_s() / 3600.0, _DAY_H),
        board_awake_a=board.awake_a,
        board_asleep_a=board.asleep_a,
        cable_ohm=work.wires.total_ohm,
        minimum_v=work.site.pump.minimum_v,
    )


def nights_on_a_charge(
    spec: BatterySpec, load: NightLoad, depth: float, sun_ah: float = 0.0, sun_h: float = 12.0
) -> tuple[float, str]:
    """Nights until the depth is reached or the motor gets too little, and which of the two.

    ``sun_ah`` is what a panel gives in the ``sun_h`` hours of light of each day.
    """
    battery = Battery(spec)
    usable_ah = depth * battery.capacity_ah(20.0)
    full_ah = battery.charge_ah
    if load.current_a <= 0.0 or load.pump_h <= 0.0:
        return NIGHTS_MAX, "charge"
    dt_h = load.pump_h / _STEPS
    drawn_a = load.current_a + load.board_awake_a
    night = 0
    while night < NIGHTS_MAX:
        for step in range(_STEPS):
            before_ah = full_ah - battery.charge_ah
            before_v = _motor_v(battery, load)
            if before_v < load.minimum_v:
                return night + step / _STEPS, "volts"
            battery.step(drawn_a, dt_h * 3600.0)
            after_ah = full_ah - battery.charge_ah
            if after_ah > usable_ah:
                part = max(0.0, usable_ah - before_ah) / (after_ah - before_ah)
                return night + (step + part) / _STEPS, "charge"
            after_v = _motor_v(battery, load)
            if after_v < load.minimum_v:
                part = (before_v - load.minimum_v) / (before_v - after_v)
                return night + (step + part) / _STEPS, "volts"
        night += 1
        _rest(battery, load, sun_ah, sun_h)
    return NIGHTS_MAX, "charge"


def _rest(battery: Battery, load: NightLoad, sun_ah: float, sun_h: float) -> None:
    """From the end of a night's pumping to the next: the board sleeps, a panel charges."""
    rest_h = _DAY_H - load.pump_h
    if sun_ah > 0.0 and battery.takes_charge:
        light_h = min(sun_h, rest_h)
        current_a = load.board_asleep_a - sun_ah / sun_h
        for _ in range(_SUN_STEPS):
            battery.step(current_a, light_h / _SUN_STEPS * 3600.0)
        rest_h -= light_h
    battery.step(load.board_asleep_a, rest_h * 3600.0)


def size_for(spec: BatterySpec, load: NightLoad, depth: float, nights: float) -> float | None:
    """Smallest rating of this kind of battery that gives so many nights [Ah]."""

    def spare(capacity_ah: float) -> float:
        rated = spec.rated(capacity_ah)
        # What is spent in the rest between two nights counts whole nights: a stretch of ratings
        # gives exactly as many. The smallest of them is wanted, so that it counts as enough.
        return nights_on_a_charge(rated, load, depth)[0] - nights + 1e-6

    if spare(LARGEST_AH) < 0.0:
        return None
    if spare(_SMALLEST_AH) >= 0.0:  # Nothing is drawn.
        return _SMALLEST_AH
    return root(spare, _SMALLEST_AH, LARGEST_AH, tolerance=_RATING_AH) + _RATING_AH


def one_go_h(spec: BatterySpec, current_a: float) -> float:
    """Hours at a constant current until a full battery's near well is empty [h]."""
    return Battery(spec).life_h(current_a) if current_a > 0.0 else inf


def nights_of(work: WorkingSite, wanted: int | None = None) -> Nights:
    """The battery as it is, and at 5 C and 25 C, new and at the end of its life."""
    spec, load = work.site.battery, load_of(work)
    wanted = nights_wanted(work.site) if wanted is None else wanted
    conditions = [("as in the site file", spec.temperature_c, spec.lived)]
    for temperature_c in (5.0, 25.0):
        for name, age in (("new", 0.0), ("worn out", 1.0)):
            conditions.append((name, temperature_c, age))
    mean_c = 0.5 * (work.site.weather.t_min_c + work.site.weather.t_max_c)
    if abs(mean_c - spec.temperature_c) > APART_K:
        conditions.append(("in this weather", mean_c, spec.lived))
    cases = [_case(work, load, *condition) for condition in conditions]
    sun = sun_of(work.site)
    if sun:
        for name, sun_ah in (("panel, usual sun", sun.usual_ah), ("panel, overcast", sun.dull_ah)):
            place = (name, spec.temperature_c, spec.lived)
            cases.append(_case(work, load, *place, sun_ah, sun.daylight_h))
    size_ah = size_for(spec, load, work.discharge, wanted)
    hours = one_go_h(spec, load.current_a)
    return Nights(
        load=load,
        depth=work.discharge,
        wanted=wanted,
        cases=tuple(cases),
        size_wanted_ah=size_ah if load.pump_ah > 0.0 else None,
        one_go_h=hours if isfinite(hours) else 0.0,
        charges=cycle_life(spec.chemistry, work.discharge),
        prices=tuple(
            DepthPrice(
                depth,
                nights_on_a_charge(spec, load, depth)[0],
                cycle_life(spec.chemistry, depth),
            )
            for depth in sorted({*DEPTHS, work.discharge})
        ),
        sun=sun,
    )


def _case(
    work: WorkingSite,
    load: NightLoad,
    name: str,
    temperature_c: float,
    age: float,
    sun_ah: float = 0.0,
    sun_h: float = 12.0,
) -> ChargeCase:
    battery = work.site.battery
    # The battery as it is keeps what was measured of it: it may be past the end of its life.
    aged = battery if age == battery.lived else battery.at_age(age)
    spec = replace(aged, temperature_c=temperature_c)
    usable_ah = work.discharge * Battery(spec).capacity_ah(20.0)
    nights, ends_by = nights_on_a_charge(spec, load, work.discharge, sun_ah, sun_h)
    return ChargeCase(name, temperature_c, age, usable_ah, nights, ends_by)


def _motor_v(battery: Battery, load: NightLoad) -> float:
    return battery.terminal_v(load.current_a) - load.current_a * load.cable_ohm
