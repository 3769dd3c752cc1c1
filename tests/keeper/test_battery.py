"""Which battery is on the clamps, and what is in it: its rest voltage against the count."""

import pytest

from keeper.charge import ROOM_MV, STEP_MV, Charge
from keeper.facts import UNSEEN_MV
from keeper.records import BATTERY, NIGHT, START, TRIP

from .bench import SITE, Bench, part

# Round figures: 100 mV a quarter of the usable charge, and a channel that may err by 200 mV.
CURVE = {
    "empty_mv": 12200,
    "rest_25_mv": 12300,
    "rest_50_mv": 12400,
    "rest_75_mv": 12500,
    "charged_mv": 12600,
}
LEAD = {**CURVE, "battery_error_mv": 200, "cutout_mv": 12100, "reconnect_mv": 12320}
FULL = SITE["capacity_mah"]
NEAR = FULL // 100
HOUR_S = 3600
ROOM_SHARE = ROOM_MV / 400
RESTED_S = 4 * HOUR_S + 120


def charge(**changes: int) -> Charge:
    return part(Charge, **{**LEAD, **changes})


def put_on(rest_mv: int, *, true_mv: int = 0, clock: str = "12:01:00", **changes: int) -> Bench:
    """A bench whose board first sees a battery that reads so."""
    bench = Bench(clock=clock, set1_unit=0, **{**LEAD, **changes})
    bench.rest_mv = rest_mv
    bench.keeper = bench._board()
    bench.log.clear()
    bench.tick()
    return bench


def left(bench: Bench) -> int:
    return bench.keeper.facts.left_mah


# The curve.


@pytest.mark.parametrize(
    ("rest_mv", "share"),
    [
        (11000, 0),
        (12200, 0),
        (12250, 0.125),
        (12300, 0.25),
        (12550, 0.875),
        (12600, 1),
        (14000, 1),
    ],
)
def test_charge_by_the_rest_curve(rest_mv: int, share: float) -> None:
    assert charge().mah_at(rest_mv) == pytest.approx(share * FULL, abs=NEAR)


@pytest.mark.parametrize("left_mah", [0, 1, 5000, FULL // 2, FULL - 1, FULL])
def test_the_curve_there_and_back(left_mah: int) -> None:
    counted = charge(rest_50_mv=12480)
    assert counted.mah_at(counted.mv_at(left_mah)) == pytest.approx(left_mah, abs=FULL // 50)


def test_a_curve_as_steep_as_can_be_set_divides_by_nothing() -> None:
    line = charge(empty_mv=12599, rest_25_mv=0, rest_50_mv=0, rest_75_mv=0)
    assert [line.mah_at(mv) for mv in (12598, 12599, 12600)] == [0, 0, FULL]
    assert line.mv_at(FULL // 2) in (12599, 12600)


def test_without_points_between_it_is_a_line() -> None:
    line = charge(rest_25_mv=0, rest_50_mv=0, rest_75_mv=0)
    assert line.mah_at(12350) == pytest.approx(0.375 * FULL, abs=NEAR)


# K1: a battery put on is counted from its voltage, both ways, as far as the channel may err.


@pytest.mark.parametrize(
    ("rest_mv", "share"),
    [(12600, 1), (12400, 1), (12390, 0.975), (12200, 0.5), (12000, 0), (11000, 0)],
)
def test_a_first_battery_is_taken_for_the_most_that_fits(rest_mv: int, share: float) -> None:
    assert left(put_on(rest_mv)) == pytest.approx(share * FULL, abs=NEAR)


def test_a_full_battery_shows_how_the_channel_reads() -> None:
    bench = put_on(12450)
    assert bench.keeper.facts.reads_low_mv == 200, "it may still come up"
    bench.sleep(RESTED_S)
    assert bench.keeper.facts.reads_low_mv == pytest.approx(150 + ROOM_MV, abs=2)
    other = put_on(12600)
    other.sleep(RESTED_S)
    assert other.keeper.facts.reads_low_mv == pytest.approx(ROOM_MV, abs=2)
    other.keeper.facts.left_mah = FULL // 4
    other.keeper.facts.worked = 1
    other.keeper.charge.check(12360, False)
    assert other.keeper.facts.reads_low_mv == ROOM_MV - 60, (
        "it reads more than the charge counted can"
    )
    other.keeper.charge.check(12700, False)
    assert other.keeper.facts.reads_low_mv == -200, "but no more than the parts allow"


def test_what_a_charger_has_left_on_it_does_not_count_as_reading_high() -> None:
    bench = put_on(12800)
    bench.sleep(RESTED_S)
    assert bench.keeper.facts.reads_low_mv == 200
    bench.keeper.facts.left_mah = FULL // 2
    bench.keeper.charge.check(12500, False)
    assert bench.keeper.facts.reads_low_mv == 0


def test_a_flat_top_of_the_curve_says_nothing_of_the_channel() -> None:
    bench = put_on(12450, rest_75_mv=12590)
    bench.sleep(RESTED_S)
    assert bench.keeper.facts.reads_low_mv == 200


@pytest.mark.parametrize("error_mv", [-200, 0, 200])
def test_batteries_carried_home_are_counted_whatever_the_channel(error_mv: int) -> None:
    """Full, then 85 % full, then full: up and down, by what the channel is known to read."""
    bench = put_on(12600 + error_mv)
    bench.sleep(RESTED_S)
    assert left(bench) == pytest.approx(FULL, abs=NEAR)
    for share, rest_mv in ((0.85, 12540), (0.25, 12300), (1.0, 12600)):
        bench.keeper.facts.left_mah = 0
        bench.keeper.facts.worked = 1
        bench.keeper.facts.off_ms = 0
        bench.rest_mv = 12200 + error_mv
        bench.sleep(5 * HOUR_S)
        bench.rest_mv = rest_mv + error_mv
        bench.reboot()
        most = min(share + ROOM_SHARE, 1.0)
        assert share * FULL - NEAR <= left(bench) <= most * FULL + NEAR


def test_a_rested_battery_that_reads_less_is_counted_down() -> None:
    counted = charge()
    counted.facts.reads_low_mv = 0
    counted.check(12400, False)
    assert counted.facts.left_mah == pytest.approx(FULL // 2, abs=NEAR)
    counted.facts.left_mah = 100
    counted.check(12400, False)
    assert counted.facts.left_mah == 100, "nobody has charged it: the channel reads high"


def test_the_cut_out_allows_for_a_channel_that_reads_low() -> None:
    """Rest 12.40 V for 12.60: under load, made good for the supply, 12.0 V are 12.2."""
    bench = put_on(12400, clock="21:50:00", hand_minutes=30)
    assert bench.keeper.facts.reads_low_mv == 200
    bench.loaded_mv = 11400
    bench.go("run")
    bench.ticks(60000)
    assert bench.state == "run"
    while bench.level and bench.loaded_mv > 10600:
        bench.loaded_mv -= 5  # All at once it would be a joint that has gone bad.
        bench.ticks(1000)
    assert bench.state == "flat"
    assert bench.loaded_mv == pytest.approx(10900, abs=100)


def test_calibration_forgets_how_the_channel_read() -> None:
    bench = put_on(12500)
    bench.sleep(RESTED_S)
    assert bench.keeper.facts.reads_low_mv == pytest.approx(100 + ROOM_MV, abs=2)
    bench.apply(battery_offset_mv=100)
    assert bench.keeper.facts.reads_low_mv == pytest.approx(ROOM_MV, abs=5), "and sees it anew"
    assert bench.keeper.facts.rest_over_mv == pytest.approx(0, abs=5)
    bench.apply(starts_max=7)
    assert bench.keeper.facts.rest_over_mv == pytest.approx(0, abs=5)
    assert len(bench.records(BATTERY)) == 1


def test_a_battery_that_nobody_has_seen_goes_on_unseen() -> None:
    counted = charge()
    counted.go_on(charge())
    assert counted.facts.rest_over_mv == UNSEEN_MV


# K2, K3: a restart is no battery.


@pytest.mark.parametrize("state", ["idle", "done", "run", "prime"])
def test_a_restart_is_no_battery(state: str) -> None:
    bench = put_on(12600)
    if state != "idle":
        bench.go(state)
        bench.ticks(5000)
    bench.pressure_pa = None
    counted = left(bench)
    bench.rest_mv = 12540
    bench.reboot()
    assert left(bench) == pytest.approx(counted, abs=5)
    assert len(bench.records(BATTERY)) == 1, "that of the first look"


def test_an_unrested_voltage_lowers_the_count_only_as_far_as_it_may_still_rise() -> None:
    """Unrested it is at most 12.2 - 12.1 V lower; rested, it is looked at again."""
    bench = put_on(12600)
    bench.sleep(RESTED_S)
    bench.go("run")
    bench.rest_mv = 12360
    bench.reboot()
    assert left(bench) == pytest.approx((0.65 + ROOM_SHARE) * FULL, abs=NEAR)
    assert bench.records(BATTERY)[-1]["rest_mv"] == 12360
    bench.keeper.command(3, 0)
    bench.sleep(RESTED_S)
    assert left(bench) == pytest.approx((0.4 + ROOM_SHARE) * FULL, abs=NEAR)


@pytest.mark.parametrize(("rise_mv", "seen"), [(STEP_MV - 5, False), (STEP_MV + 5, True)])
def test_a_battery_is_another_when_it_reads_higher_than_it_could(rise_mv: int, seen: bool) -> None:
    bench = put_on(12600)
    bench.keeper.facts.left_mah = FULL // 2
    bench.keeper.facts.worked = 1
    bench.rest_mv = 12400
    bench.sleep(5 * HOUR_S)
    bench.rest_mv = 12400 + rise_mv
    bench.reboot()
    assert (len(bench.records(BATTERY)) == 2) is seen


def test_a_full_count_is_not_made_fuller() -> None:
    bench = put_on(12600)
    bench.rest_mv = 12900
    bench.reboot()
    assert len(bench.records(BATTERY)) == 1


def test_a_battery_charged_slowly_where_it_stands_is_seen_when_rested() -> None:
    bench = put_on(12600)
    bench.keeper.facts.left_mah = FULL // 2
    bench.keeper.facts.worked = 1
    bench.rest_mv = 12400
    bench.sleep(5 * HOUR_S)
    for rest_mv in range(12400, 12601, 10):
        bench.rest_mv = rest_mv
        bench.sleep(120)
    assert left(bench) < FULL * 0.6
    bench.sleep_until("12:01:00")
    assert left(bench) == pytest.approx(FULL, abs=NEAR)


# K4: one that rests too low is not started.


@pytest.mark.parametrize("settings", [LEAD, {}])
@pytest.mark.parametrize("wish", ["run", "clear"])
def test_a_battery_that_rests_below_empty_is_refused(settings: dict[str, int], wish: str) -> None:
    bench = Bench(**{"cutout_mv": 11900, **settings})
    bench.rest_mv = 11500
    for _ in range(3):
        if wish == "clear":
            bench.clear()
        bench.keeper.command(2, 0)
        bench.until("check")
        bench.until("idle")  # A run by hand that does not start costs no set.
    assert not bench.records(START)
    assert len(bench.said("charge reserve")) == len(bench.records(TRIP)) == 3


def test_a_battery_just_above_empty_is_not() -> None:
    bench = Bench()
    bench.rest_mv = 11905
    bench.go("run")
    assert bench.records(START)


# K6: another battery is noticed whatever powers the board.


def flat() -> Bench:
    bench = put_on(12600, cutout_mv=11900, battery_error_mv=0)
    bench.go("flat")
    bench.sleep(1200)
    return bench


def test_a_battery_swapped_on_usb_power_ends_flat() -> None:
    bench = flat()
    bench.rest_mv = 12500
    bench.sleep(120)
    assert bench.state == "idle"


def test_also_when_it_was_off_meanwhile() -> None:
    bench = flat()
    bench.raw = {"battery": 0}
    bench.sleep(120)
    bench.rest_mv = 12500
    bench.raw = {}
    bench.sleep(120)
    assert bench.state == "idle"


def test_a_flat_battery_put_back_stays_flat() -> None:
    bench = flat()
    bench.raw = {"battery": 0}
    bench.sleep(120)
    bench.raw = {}
    bench.rest_mv = 12300
    bench.sleep(120)
    assert bench.state == "flat"
    bench.reboot()
    assert bench.state == "flat"


def test_a_flat_battery_that_recovers_by_itself_stays_flat() -> None:
    bench = flat()
    for rest_mv in range(12200, 12601, 20):
        bench.rest_mv = rest_mv
        bench.sleep(600)
    assert bench.state == "flat"


def test_a_swap_in_idle_is_noticed() -> None:
    bench = put_on(12300)
    bench.keeper.facts.reads_low_mv = 0
    bench.keeper.charge.check(12300, False)
    bench.sleep(700)
    bench.rest_mv = 12550
    bench.sleep(120)
    assert left(bench) == pytest.approx(0.875 * FULL, abs=NEAR)
    bench.rest_mv = 12250
    bench.sleep(120)
    assert left(bench) < FULL // 2


def test_a_hand_switch_turned_off_in_a_run_and_on_again_takes_no_charge() -> None:
    """The battery is read behind it: the samples from before are those of a pump at work."""
    bench = put_on(12600)
    bench.go("run")
    bench.ticks(5000)
    bench.battery_mv = bench.load_on = 0
    bench.until("done")
    counted_mah = left(bench)
    # On USB power a board takes no naps, and forgets no samples over them.
    bench.ticks(5000)
    bench.battery_mv, bench.load_on = None, None
    bench.ticks(5000)
    assert counted_mah - 2 <= left(bench) <= counted_mah


@pytest.mark.parametrize(("empty_mv", "low_mv"), [(12200, 100), (0, 200)])
def test_a_person_who_says_full_says_how_the_channel_reads(empty_mv: int, low_mv: int) -> None:
    bench = put_on(12500, empty_mv=empty_mv)
    bench.keeper.facts.reads_low_mv = 0 if empty_mv else 200
    bench.keeper.command(5, 0)
    bench.tick()
    assert bench.keeper.facts.reads_low_mv == low_mv


def test_a_person_who_says_so_is_believed_over_a_restart() -> None:
    bench = put_on(12600)
    bench.keeper.command(5, 20000)
    bench.tick()
    bench.reboot()
    assert left(bench) == 20000
    bench.go("run")
    bench.keeper.command(5, 10000)
    bench.tick()
    assert bench.keeper.facts.rest_over_mv == 0, "what it reads under load is no rest"


def test_the_night_of_a_battery_brought_back_after_noon_counts_the_new_one() -> None:
    bench = put_on(12600)
    bench.keeper.facts.left_mah = FULL // 4
    bench.keeper.facts.worked = 1
    bench.rest_mv = 12300
    bench.sleep_until("09:00:00")
    bench.rest_mv = 12600
    bench.reboot(away_ms=8 * HOUR_S * 1000)
    assert bench.records(NIGHT)[-1]["left_mah"] == pytest.approx(FULL, abs=NEAR)


def test_noon_in_a_run_takes_no_loaded_voltage_for_rest() -> None:
    bench = put_on(12600, clock="07:50:00", hand_minutes=30)
    bench.sleep_until("11:58:00")
    bench.loaded_mv = 12150
    bench.go("run")
    before = left(bench)
    bench.ticks(300000)
    assert bench.state == "run"
    assert bench.records(NIGHT)
    assert left(bench) == pytest.approx(before, abs=NEAR * 3)
    assert bench.keeper.facts.rest_over_mv == pytest.approx(0, abs=10)
