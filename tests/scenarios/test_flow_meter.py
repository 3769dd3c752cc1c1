"""A flow meter in the plant: whole nights, what only it sees, and what it must not stop."""

from dataclasses import replace

import pytest

from keeper import Settings
from keeper.lines import parse_line
from keeper.records import COMPLETE, FIRST, GIVEN, KIND
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.design.limits.flow_meter import WAIT_MIN_S
from rillkeeper.site.file import demo_site
from rillsim.boards.flowpulses import FlowPulses
from rillsim.plant import Plant
from rillsim.replay import TICKS_PER_S, replay
from rillsim.site import FaultSpec, SetSpec, Site
from rillsim.water.meter_wheel import STANDS_BELOW_M3_S
from rillsim.water.pipe import bore_area_m2
from tests.campaign.night import Told, run_night

from .draw import draw_site

SEED = 1
CLOGGED_S, SHUT_S = 120.0, 130.0
"""Seconds from the set's time: the transducer lies, then somebody shuts the tap."""
STOP_S = WAIT_MIN_S + 1.0
"""From the last water that turned the wheel."""
PRIMED_S = 2.0
"""A second start shows its pressure at once, and that is held for a second."""

FLOW_M3_S = 17e-3 / 60.0
"""Of the demonstration's pump."""


def site_with(base: Site | None = None, *, transducer: bool = True, minutes: float = 10.0) -> Site:
    """A site with one set in two runs, its meter, and a transducer beside it or none."""
    base = base or demo_site()
    return replace(
        base,
        board=replace(base.board, flow_fitted=True, pressure_fitted=transducer),
        sets=(SetSpec(amount=minutes, runs=2, soak_s=300),),
        weather=replace(base.weather, rain_chance=0.0),
        faults=(),
        battery_trips=(),
    )


def night(site: Site, *faults: FaultSpec) -> Told:
    """What came of it since the last of the faults."""
    return run_night(site, settings_of(site), SEED, faults)


def ends(told: Told) -> list[int]:
    """Why each set ended."""
    return [row[FIRST + 1] for row in map(parse_line, told.log) if row[KIND] == GIVEN]


@pytest.mark.parametrize("transducer", [True, False], ids=["beside a transducer", "alone"])
@pytest.mark.parametrize("seed", [None, 1002, 1003], ids=["demonstration", "1002", "1003"])
def test_a_sound_night(seed: int | None, transducer: bool) -> None:
    """Nothing stops it, and its litres are the plant's: but for the first second of each start,
    in which water is awaited, and for what the meter's pulse is beside its sheet."""
    base = demo_site() if seed is None else draw_site(seed, 1)
    assert base is not None
    site = site_with(base, transducer=transducer)
    week = replay(site, settings_of(site), nights=1, seed=SEED)
    rows = [parse_line(line) for line in week.log]
    assert {"trip", "warn"}.isdisjoint(line.split()[3] for line in week.log)
    ((cause, given_ml),) = ((row[FIRST + 1], row[FIRST + 3]) for row in rows if row[KIND] == GIVEN)
    assert cause == COMPLETE
    pulse_l = 1e3 * FlowPulses(site.board, SEED).pulse_m3
    true_l = given_ml / 1e3 * pulse_l * site.board.flow_pulses_per_l
    litres = sum(one.litres for one in week.truth)
    first_l = 2.0 * 1.5 * litres / (60.0 * site.sets[0].amount)
    assert litres - first_l - 0.5 < true_l < litres + 0.5


def stretches_s(site: Site) -> float:
    """How long the hose takes up water behind a tap that somebody shuts, by the plant alone."""
    plant = Plant(replace(site, faults=(FaultSpec("outlet_shut", 1, SHUT_S),)), SEED)
    begins_n = plant.timeline.night_n(1)
    shut_n = begins_n + round(SHUT_S * TICKS_PER_S)
    plant.read(begins_n)
    plant.drive(begins_n, 1)
    n = shut_n
    plant.read(n)
    while plant.truth(n).pumped_m3_s > STANDS_BELOW_M3_S:
        n += 1
        plant.read(n)
    return (n - shut_n) / TICKS_PER_S


def test_a_hose_goes_on_taking_water_for_seconds() -> None:
    """A soft one stretches by 0.2 L a bar: 4 bar more are 0.8 L, at 17 L/min and ever less."""
    assert 3.0 < stretches_s(site_with()) < 6.0


@pytest.mark.parametrize("lies", ["pressure_port_clogged", "pressure_channel_stuck"])
def test_a_shut_tap_behind_a_transducer_that_lies(lies: str) -> None:
    """It shows the pressure of before, and the pump works against a shut line."""
    site = site_with()
    faults = FaultSpec(lies, 1, CLOGGED_S), FaultSpec("outlet_shut", 1, SHUT_S)
    told = night(site, *faults)
    assert told.felt
    assert told.said[:2] == ("trip no flow", "trip no flow")
    assert told.first_s is not None
    longest_s = stretches_s(site) + STOP_S
    assert WAIT_MIN_S < told.first_s <= longest_s
    assert told.toll.on_s <= 2.0 * longest_s + PRIMED_S
    assert told.states[-1][1] == "lockout"


def test_without_a_meter_it_is_seen_at_the_next_start() -> None:
    """What the meter is for: the same night, and the pump works on to the end of the run."""
    site = site_with()
    site = replace(site, board=replace(site.board, flow_fitted=False))
    faults = FaultSpec("pressure_port_clogged", 1, CLOGGED_S), FaultSpec("outlet_shut", 1, SHUT_S)
    told = night(site, *faults)
    assert told.said == ("trip bad pressure",)
    assert [name for _, name in told.states].count("prime") == 2
    first_s = told.states[[name for _, name in told.states].index("soak")][0] - SHUT_S
    assert 0.0 < told.toll.on_s - first_s < 10.0


def test_the_source_is_gone_and_there_is_no_transducer() -> None:
    """By the plant's truth the pump is dry no longer than the night's allowance."""
    site = site_with(transducer=False)
    allowed_s = Settings(settings_of(site)).dry_night_s
    told = night(site, FaultSpec("source_empty", 1, SHUT_S))
    assert told.said[0] == "trip no flow"
    assert set(told.said[1:]) <= {"trip no flow", "trip no prime", "trip dry too long"}
    assert told.first_s is not None
    line_m3 = site.suction.length_m * bore_area_m2(site.suction.bore_m)
    assert told.first_s <= line_m3 / FLOW_M3_S + STOP_S, "the suction line is drunk empty first"
    assert 2.0 < told.toll.dry_s <= allowed_s + 1.0
    assert told.states[-1][1] == "lockout"


@pytest.mark.parametrize("offset_s", [-3600.0, SHUT_S], ids=["before the set", "in the run"])
def test_a_wheel_that_stands_still(offset_s: float) -> None:
    """Beside a sound transducer: one rest, one warning, and the set is given."""
    site = site_with()
    told = night(site, FaultSpec("meter_stuck", 1, offset_s))
    assert told.felt
    assert told.said == ("trip no flow", "warn bad meter")
    assert [name for _, name in told.states].count("rest") == 1
    assert ends(told) == [COMPLETE]


def test_a_wheel_that_stands_still_and_no_transducer() -> None:
    """Nothing else sees the water: it is as a pump that gives none."""
    told = night(site_with(transducer=False), FaultSpec("meter_stuck", 1, SHUT_S))
    assert told.felt
    assert set(told.said) == {"trip no flow"}
    assert told.states[-1][1] == "lockout"


def test_a_wheel_that_is_free_again_is_believed_again() -> None:
    """A fibre that has gone before the second try, and no word more than of the stop."""
    told = night(site_with(), FaultSpec("meter_stuck", 1, SHUT_S, duration_s=120.0))
    assert told.said == ("trip no flow",)
    assert ends(told) == [COMPLETE]
