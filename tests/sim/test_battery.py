"""The battery: closed forms, conservation of charge and energy, and what it refuses."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillsim.site import BatterySpec, SolarSpec
from rillsim.supply.battery import Battery
from rillsim.supply.charger import charge
from rillsim.supply.chemistry import CHEMISTRY
from rillsim.supply.panel import offered_a, taken
from rillsim.supply.rest_curve import RestCurve
from tests.sim.kinetic_step import step_ah

CHEMISTRIES = sorted(CHEMISTRY)
PEUKERT = {"flooded": 1.2, "agm": 1.08, "lfp": 1.03}
"""Exponents of the trade, which the wells imitate (common practice, no source)."""


def fresh(chemistry: str = "flooded", charge: float = 1.0, **fields: float) -> Battery:
    spec = BatterySpec(chemistry=chemistry, capacity_ah=80.0, age=0.0, temperature_c=25.0)
    return Battery(spec, charge, **fields)


def night(battery: Battery, current_a: float = 10.0) -> None:
    for _ in range(60):
        battery.step(current_a, 60.0)


def charger(battery: Battery, hours: float, most_a: float, limit_v: float = 0.0) -> float:
    return charge(battery, most_a, hours * 3600.0, limit_v)


@given(
    current_a=st.floats(0.0, 20.0),
    hours=st.floats(1e-4, 3.0),
    charge=st.floats(0.5, 1.0),
    chemistry=st.sampled_from(CHEMISTRIES),
)
def test_step_is_the_kinetic_closed_form(
    current_a: float, hours: float, charge: float, chemistry: str
) -> None:
    """The charge taken follows the same law as the charge left (Manwell and McGowan 1993)."""
    battery, kind = fresh(chemistry, charge), CHEMISTRY[chemistry]
    near = kind.share * battery.charge_ah
    drawn_a = current_a + battery.self_discharge_a
    near, far = step_ah(
        near, battery.charge_ah - near, drawn_a, hours, kind.share, kind.rate_per_h
    )
    battery.step(current_a, hours * 3600.0)
    taken, near_taken, *_ = battery.save()
    assert battery.charge_ah == pytest.approx(near + far, rel=1e-12)
    full_near = kind.share * (battery.charge_ah + taken)
    assert full_near - near_taken == pytest.approx(near, rel=1e-9, abs=1e-9)


@given(
    current_a=st.floats(0.0, 20.0),
    dt_s=st.floats(0.1, 600.0),
    parts=st.integers(2, 40),
    chemistry=st.sampled_from(CHEMISTRIES),
)
def test_many_short_steps_are_one_long_one(
    current_a: float, dt_s: float, parts: int, chemistry: str
) -> None:
    whole, split = fresh(chemistry, 0.9), fresh(chemistry, 0.9)
    whole.step(current_a, dt_s)
    for _ in range(parts):
        split.step(current_a, dt_s / parts)
    for one, other in zip(whole.save(), split.save(), strict=True):
        assert other == pytest.approx(one, rel=1e-9, abs=1e-12)


@given(
    course=st.lists(st.tuples(st.floats(-15.0, 15.0), st.floats(0.1, 3600.0)), max_size=40),
    chemistry=st.sampled_from(CHEMISTRIES),
)
def test_charge_balance(course: list[tuple[float, float]], chemistry: str) -> None:
    """Charge out of the wells is load plus self-discharge less what charging put in."""
    battery = fresh(chemistry, 0.6)
    before_ah, through_ah, leak_ah = battery.charge_ah, 0.0, 0.0
    for current_a, dt_s in course:
        battery.step(current_a, dt_s)
        through_ah += current_a * dt_s / 3600.0
        leak_ah += battery.self_discharge_a * dt_s / 3600.0
    expected_ah = before_ah - through_ah - leak_ah - battery.lost_ah
    assert battery.charge_ah == pytest.approx(expected_ah, rel=1e-9, abs=1e-9)
    assert battery.lost_ah >= 0.0


@given(
    current_a=st.floats(-10.0, 20.0),
    charge=st.floats(0.05, 1.0),
    chemistry=st.sampled_from(CHEMISTRIES),
)
def test_power_closes_within_a_step(current_a: float, charge: float, chemistry: str) -> None:
    battery = fresh(chemistry, charge)
    battery.step(8.0, 300.0)
    chemical_w = battery.open_v * current_a
    lost_w = battery.polarisation_v * current_a + battery.resistance_ohm * current_a**2
    given_w = battery.terminal_v(current_a) * current_a
    assert chemical_w == pytest.approx(lost_w + given_w, rel=1e-12, abs=1e-12)
    assert battery.emf_v == battery.open_v - battery.polarisation_v


def test_polarisation_is_an_exponential() -> None:
    battery, kind = fresh(), CHEMISTRY["flooded"]
    full_v = kind.polarisation * kind.ohm_ah / 80.0 * 10.0
    battery.step(10.0, 45.0)
    rising = full_v * (1.0 - math.exp(-45.0 / kind.polarisation_s))
    assert battery.polarisation_v == pytest.approx(rising, rel=1e-12)
    battery.step(0.0, 90.0)
    falling = rising * math.exp(-90.0 / kind.polarisation_s)
    assert battery.polarisation_v == pytest.approx(falling, rel=1e-12)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_rated_charge_comes_out(chemistry: str) -> None:
    """The 20 h capacity is the rating, by formula and by discharge to 1.75 V (2 V) a cell."""
    battery = fresh(chemistry)
    assert battery.capacity_ah(20.0) == pytest.approx(80.0, rel=1e-12)
    end_v = 8.0 if chemistry == "lfp" else 10.5
    minutes = 0
    while battery.terminal_v(4.0) > end_v:
        battery.step(4.0, 60.0)
        minutes += 1
    assert minutes * 4.0 / 60.0 == pytest.approx(80.0, rel=0.03)


@pytest.mark.parametrize(
    ("chemistry", "tolerance"), [("flooded", 0.03), ("agm", 0.07), ("lfp", 0.055)]
)
@pytest.mark.parametrize("hours", [1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 20.0])
def test_wells_behave_like_peukert(chemistry: str, tolerance: float, hours: float) -> None:
    """C(t) = C(20 h) (t / 20 h)^((k - 1) / k), Peukert (1897), between the 1 h and 20 h rates.

    AGM's wells follow a porous-electrode model, whose curve bends more than the law.
    """
    exponent = PEUKERT[chemistry]
    law_ah = 80.0 * (hours / 20.0) ** ((exponent - 1.0) / exponent)
    assert fresh(chemistry).capacity_ah(hours) == pytest.approx(law_ah, rel=tolerance)


def test_exponents_are_those_of_the_trade() -> None:
    """About 1.2, 1.05 to 1.1 and 1.03 for flooded, AGM and LiFePO4: common practice, no source."""
    expected = {"flooded": 1.2, "agm": 1.075, "lfp": 1.03}
    for chemistry, exponent in expected.items():
        ratio = fresh(chemistry).capacity_ah(1.0) / 80.0
        over_all = 1.0 / (1.0 - math.log(1.0 / ratio) / math.log(20.0))
        assert over_all == pytest.approx(exponent, abs=0.025)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_voltage_recovers_at_rest(chemistry: str) -> None:
    """Under load the near well runs ahead; at rest the voltage climbs to that of the charge."""
    battery = fresh(chemistry)
    night(battery)
    loaded_v, ahead_v = battery.terminal_v(10.0), battery.open_v
    seen = [battery.emf_v]
    for _ in range(24):
        battery.step(0.0, 1800.0)
        seen.append(battery.emf_v)
    assert ahead_v < battery.rest_v
    assert loaded_v < seen[0]
    assert all(later >= earlier - 5e-4 for earlier, later in zip(seen, seen[1:], strict=False))
    assert seen[-1] == pytest.approx(battery.rest_v, abs=0.005)
    assert seen[-1] - seen[0] > 0.01


def test_age_takes_charge_and_adds_resistance() -> None:
    """80 % of the rating is left at the end of life (IEEE Std 450, from memory)."""
    spec = BatterySpec(capacity_ah=80.0, age=1.0)
    old = Battery(spec, temperature_c=25.0)
    assert old.capacity_ah(20.0) == pytest.approx(64.0, rel=1e-12)
    assert old.resistance_ohm > 1.5 * fresh().resistance_ohm


def test_self_discharge_of_a_month() -> None:
    battery = fresh()
    battery.step(0.0, 30.0 * 86400.0)
    assert 1.0 - battery.soc == pytest.approx(0.05, rel=1e-9)
    assert Battery(BatterySpec(age=0.0), temperature_c=15.0).self_discharge_a == pytest.approx(
        0.5 * battery.self_discharge_a
    )


def test_highest_current_empties_the_near_well() -> None:
    battery = fresh(charge=0.7)
    current_a = battery.max_current_a(1800.0) - battery.self_discharge_a
    battery.step(current_a, 1800.0)
    taken, near_taken, *_ = battery.save()
    near_full = CHEMISTRY["flooded"].share * (battery.charge_ah + taken)
    assert near_taken == pytest.approx(near_full, rel=1e-12)
    # The valve still lets a little through; overdrawn, it gives nothing.
    assert 0.0 < battery.max_current_a(1.0) < 15.0
    battery.step(30.0, 600.0)
    assert battery.max_current_a(1.0) == 0.0


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
@pytest.mark.parametrize("dt_s", [0.1, 1.0, 5.0, 30.0])
def test_flat_battery_dies_quietly(chemistry: str, dt_s: float) -> None:
    """A load of 1 ohm on an almost empty battery: the voltage falls away and never below 0."""
    battery = fresh(chemistry, 0.02)
    for _ in range(round(3.0 * 3600.0 / dt_s)):
        current_a = max(0.0, battery.emf_v) / (1.0 + battery.resistance_ohm)
        assert 0.0 <= current_a < 15.0
        battery.step(current_a, dt_s)
    assert battery.open_v < 11.6
    assert battery.soc == pytest.approx(0.0, abs=0.02)
    battery.step(0.0, 12.0 * 3600.0)
    assert battery.emf_v == pytest.approx(battery.rest_v, abs=0.05)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_comes_back_full(chemistry: str) -> None:
    """A night on a charger of a tenth of the rating brings back four nights of pumping."""
    battery = fresh(chemistry)
    for _ in range(4):
        night(battery)
        battery.step(0.0, 23.0 * 3600.0)
    missing_ah = 80.0 * (1.0 - battery.soc)
    given_ah = charger(battery, 16.0, 8.0)
    assert battery.soc > 0.98
    assert battery.soc <= 1.0
    assert given_ah >= missing_ah * 0.98
    assert battery.lost_ah == pytest.approx(
        given_ah * (1.0 - CHEMISTRY[chemistry].charge_efficiency), rel=1e-9
    )


def test_overcharge_is_lost_not_stored() -> None:
    battery = fresh()
    battery.step(-5.0, 3600.0)
    assert battery.soc == 1.0
    assert battery.lost_ah == pytest.approx(5.0, rel=2e-3)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_surface_charge_decays_and_is_washed_away(chemistry: str) -> None:
    """A charged battery reads high; hours of rest, or minutes of load, bring it to its charge.

    Battery Council International, from memory: three minutes at 25 A, on 60 Ah, or some hours.
    """
    battery, kind = fresh(chemistry), CHEMISTRY[chemistry]
    charger(battery, 6.0, 8.0)
    state = battery.save()
    high_v = battery.emf_v - battery.rest_v
    assert 0.2 < high_v < kind.surface_v + 0.05
    battery.step(0.0, 8.0 * 3600.0)
    assert battery.emf_v == pytest.approx(battery.rest_v, abs=0.03)
    battery.restore(state)
    battery.step(25.0 / 60.0 * 80.0, 180.0)
    assert 0.0 < battery.save()[4] < 0.15 * state[4]


def test_a_discharged_battery_has_no_surface_charge() -> None:
    battery = fresh(charge=0.8)
    night(battery)
    assert battery.save()[4] == 0.0


def test_lithium_takes_no_charge_below_freezing() -> None:
    """As sheets of LiFePO4 batteries say: charge at 0 C and above (common practice, no source)."""
    assert not fresh("lfp", temperature_c=-0.5).takes_charge
    assert fresh("lfp", temperature_c=0.5).takes_charge
    assert fresh("flooded", temperature_c=-10.0).takes_charge
    panel = SolarSpec(power_w=60.0)
    for temperature_c, flows in ((-0.5, False), (5.0, True)):
        battery = fresh("lfp", 0.5, temperature_c=temperature_c)
        current_a, _ = taken(battery, offered_a(panel, 1.8, 3600.0), 0.0, 600.0)
        assert (current_a > 0.0) == flows


def test_save_and_restore() -> None:
    battery = fresh(charge=0.8)
    battery.step(9.0, 100.0)
    state, emf_v = battery.save(), battery.emf_v
    battery.step(15.0, 1000.0)
    assert battery.emf_v != emf_v
    battery.restore(state)
    assert battery.save() == state
    assert battery.emf_v == emf_v


def test_temperature_may_change_on_the_way() -> None:
    """Cooling locks charge up and warming gives it back; what was taken stays taken."""
    battery = fresh(charge=0.8)
    warm = (battery.charge_ah, battery.resistance_ohm, battery.soc, battery.rest_v)
    battery.temperature_c = -3.9
    assert battery.charge_ah < warm[0]
    assert battery.resistance_ohm > warm[1]
    assert battery.soc == warm[2]
    battery.temperature_c = 25.0
    assert (battery.charge_ah, battery.resistance_ohm, battery.soc, battery.rest_v) == warm


def test_weak_cell_shows_late_and_takes_two_volts() -> None:
    sound, weak = fresh(), fresh(weak_cell=0.5)
    assert weak.rest_v == pytest.approx(sound.rest_v, abs=0.01)
    for battery in (sound, weak):
        for _ in range(5):
            night(battery)
            battery.step(0.0, 23.0 * 3600.0)
    assert sound.soc == weak.soc < 0.4
    assert sound.rest_v - weak.rest_v == pytest.approx(2.0, abs=0.15)


def test_weak_cell_below_its_own_empty() -> None:
    """Five cells hold the voltage of the charge; the weak one has its own, then none."""
    curve = RestCurve(CHEMISTRY["flooded"])
    # Half of the charge is gone, two thirds of that of the weak cell.
    own_v = curve.volt(1.0 - 0.5 / 0.75) / 6.0
    mixed_v = curve.volt_with_weak_cell(0.5, 0.25)
    assert mixed_v == pytest.approx(5.0 / 6.0 * curve.volt(0.5) + own_v, rel=1e-12)
    assert curve.volt_with_weak_cell(0.3, 0.8) == pytest.approx(5.0 / 6.0 * curve.volt(0.3))


def test_curve_goes_on_below_empty() -> None:
    """The foot of the lead-acid curve: 0.17 V per quarter of the charge (BCI table)."""
    curve = RestCurve(CHEMISTRY["flooded"])
    assert curve.volt(0.0) - curve.volt(-0.1) == pytest.approx(0.1 * 0.17 / 0.25, rel=1e-9)
    assert curve.volt(-5.0) == curve.volt(-0.6)
    assert curve.volt(1.5) == curve.volt(1.0)


@pytest.mark.parametrize("chemistry", CHEMISTRIES)
def test_rest_curve_rises_and_is_of_a_12_v_battery(chemistry: str) -> None:
    volts = [fresh(chemistry, percent / 100.0).rest_v for percent in range(10, 101)]
    assert all(later > earlier for earlier, later in zip(volts, volts[1:], strict=False))
    assert max(later - earlier for earlier, later in zip(volts, volts[1:], strict=False)) < 0.5
    assert all(11.8 < volt < 13.5 for volt in volts[:80])


def test_low_charger_voltage_leaves_it_short() -> None:
    """A limit just over the rested voltage of half a charge stops there."""
    battery = fresh(charge=0.3)
    # Slowly: the surface takes up much of the little that the limit leaves.
    charger(battery, 200.0, 10.0, limit_v=12.30)
    assert battery.rest_v == pytest.approx(12.30, abs=0.05)
    full = fresh(charge=0.3)
    charger(full, 24.0, 10.0)
    assert full.soc > 0.98


def test_given_resistance_is_kept() -> None:
    spec = BatterySpec(resistance_ohm=0.02, age=0.5)
    assert Battery(spec, temperature_c=25.0).resistance_ohm == pytest.approx(0.02, rel=1e-12)


@pytest.mark.parametrize(
    ("spec", "charge", "weak_cell", "says"),
    [
        (BatterySpec(chemistry="nicd"), 1.0, 0.0, "chemistry 'nicd' is unknown; choose of"),
        (BatterySpec(capacity_ah=0.0), 1.0, 0.0, "0.0 Ah; it must be over 0 Ah"),
        (BatterySpec(capacity_ah=math.nan), 1.0, 0.0, "it must be over 0 Ah"),
        (BatterySpec(age=1.2), 1.0, 0.0, "age is 1.2; it runs from 0"),
        (BatterySpec(), 1.1, 0.0, "charge is 1.1; it runs from 0"),
        (BatterySpec(), 1.0, 1.0, "weak cell is 1.0; it runs from 0"),
    ],
)
def test_refusals(spec: BatterySpec, charge: float, weak_cell: float, says: str) -> None:
    with pytest.raises(ValueError, match="battery|weak cell") as refusal:
        Battery(spec, charge, weak_cell=weak_cell)
    assert says in str(refusal.value)
