"""The flow meter's limits: what a pulse is, how long none may come, which meters are refused."""

from dataclasses import replace
from math import ceil

import pytest

from keeper.checked import Settings
from rillkeeper.design.limits import flow_meter as limits_of_meter
from rillkeeper.design.limits.derive import NoSafeLimit, check_ends, limits_of, settings_of
from rillkeeper.design.limits.remedies import named
from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.site.file import demo_site
from rillsim.site import InputRange, Site

DEMO = replace(demo_site(), faults=(), battery_trips=())


def metered(per_l: float = 450.0, **board: bool) -> Site:
    fitted = replace(DEMO.board, flow_fitted=True, flow_pulses_per_l=per_l, **board)
    return replace(DEMO, board=fitted)


def test_without_a_meter_nothing_is_derived_for_it() -> None:
    without = settings_of(DEMO)
    assert without["flow_fitted"] == 0
    assert not {"pulse_ul", "no_flow_ms"} & without.keys()
    with_it = settings_of(metered())
    assert {key: value for key, value in with_it.items() if without.get(key) != value} == {
        "flow_fitted": 1,
        "pulse_ul": 2222,
        "no_flow_ms": 5000,
    }
    Settings(with_it)


@pytest.mark.parametrize(
    ("per_l", "pulse_ul"), [(450.0, 2222), (396.0, 2525), (100.0, 10000), (3.0, 333333)]
)
def test_a_pulse_is_a_litre_shared_out(per_l: float, pulse_ul: int) -> None:
    assert settings_of(metered(per_l))["pulse_ul"] == pulse_ul


@pytest.mark.parametrize("per_l", [1.6, 2.0, 3.0, 5.0, 8.0, 40.0, 450.0, 1700.0])
def test_at_half_the_flow_four_pulses_come_in_the_wait(per_l: float) -> None:
    """Litres a minute by the settings, counted here: a second meter's worth of arithmetic."""
    site = metered(per_l)
    wait_s = 1e-3 * settings_of(site)["no_flow_ms"]
    used_l_s = 1e3 * WorkingSite(site).used.point.flow_m3_s
    assert 0.5 * used_l_s * wait_s * per_l >= 4.0
    assert 5.0 <= wait_s <= 20.0
    if wait_s > 5.0:
        assert 0.5 * used_l_s * (wait_s - 1.0) * per_l < 4.0


def test_with_less_than_half_of_the_flow_a_pump_counts_as_dry() -> None:
    """Torricelli: the flow of a nozzle goes with the root of its pressure, so that half of the
    flow is a quarter of the pressure."""
    assert settings_of(DEMO)["dry_pa"] >= 0.5**2 * WorkingSite(DEMO).used.point.pump_pa - 1.0


@pytest.mark.parametrize(
    ("per_l", "words"),
    [
        (1.0, ("gives 1 pulse per litre and is too coarse", "must stop within 20 s")),
        (1.2, ("gives 1.2 pulses per litre", "use a meter of 2 pulses per litre or more")),
        (5000.0, ("5000 pulses per litre and is too fine", "pulses per litre or fewer")),
    ],
)
def test_a_meter_that_cannot_serve_is_refused(per_l: float, words: tuple[str, ...]) -> None:
    with pytest.raises(NoSafeLimit) as refusal:
        settings_of(metered(per_l))
    sentence = str(refusal.value)
    assert "\n" not in sentence
    assert all(part in sentence for part in words), sentence
    assert named(metered(per_l)).startswith("; limits exist with a flow meter of 450 pulses")


def test_the_meter_that_a_refusal_asks_for_is_not_refused() -> None:
    used_l_s = 1e3 * WorkingSite(DEMO).used.point.flow_m3_s
    settings_of(metered(ceil(4.0 / (0.5 * used_l_s * 20.0))))
    full_l_s = 1e3 * WorkingSite(DEMO).full.point.flow_m3_s
    settings_of(metered(int(500.0 / full_l_s)))


@pytest.mark.parametrize(("off", "refused"), [(-0.02, False), (0.02, True)])
def test_water_that_may_turn_no_wheel_is_refused(
    off: float, refused: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wheel meters for a hose are sold for a litre a minute and more, and begin to turn at about
    a third of it (common practice, no source): here 0.3 L/min. The site is the demo's, and the
    wheel one that begins to turn at about half of its flow."""
    half_l_min = 0.5 * 6e4 * WorkingSite(DEMO).used.point.flow_m3_s
    monkeypatch.setattr(limits_of_meter, "WHEEL_ROOM", (1.0 + off) * half_l_min / 0.3)
    if not refused:
        settings_of(metered())
        return
    with pytest.raises(NoSafeLimit, match="wheel may stand still in a sound run") as refusal:
        settings_of(metered())
    assert str(refusal.value).endswith("leave the flow meter out")
    assert named(metered()).startswith("; limits exist with no flow meter")


def test_where_the_meter_tells_that_water_has_come_nothing_is_waited_for() -> None:
    """Without it a blind site waits for the whole prime allowance, at each of its two starts."""
    blind = WorkingSite(replace(DEMO, board=replace(DEMO.board, pressure_fitted=False)))
    told = WorkingSite(metered(pressure_fitted=False))
    assert told.pump_on_s() == told.night_s() == blind.night_s() < blind.pump_on_s()
    assert told.learned_ohm(1.0) < blind.learned_ohm(1.0)


def test_an_end_of_a_range_that_gives_few_pulses_is_refused() -> None:
    coarse = metered(2.0)
    narrow = replace(coarse, ranges=(InputRange("sprinkler.nozzle_bore", 5.3e-3, 5.7e-3),))
    settings = settings_of(narrow)
    check_ends(narrow, settings)
    with pytest.raises(NoSafeLimit, match="4 pulses of the flow meter take 7 s, near the limit"):
        check_ends(narrow, {**settings, "no_flow_ms": 5000})


def test_reasons_say_pulses_and_seconds() -> None:
    reasons = {limit.key: limit.reason for limit in limits_of(metered(100.0))}
    assert "100 pulses per litre" in reasons["pulse_ul"]
    assert "68 pulses in 5 s" in reasons["no_flow_ms"]
    assert reasons["flow_fitted"] == "The site file says that the flow meter is fitted."
