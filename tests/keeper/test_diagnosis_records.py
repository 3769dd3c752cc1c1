"""What the log carries for a later diagnosis: rest before a start, load after it, decay."""

import pytest

from keeper.records import DECAY, LEARNED, MINUTE, START

from .bench import LOADED_MV, PASCALS, REST_MV, WORKING_PA, Bench

AFTER_MS = [500, 1000, 2000, 5000, 15000, 60000, 600000]


def test_a_start_tells_voltage_and_pressure_at_rest() -> None:
    bench = Bench()
    bench.pressure_pa = 12000
    bench.go("check")
    bench.until("prime")
    told = bench.records(START)[-1]
    assert told["rest_pa"] == pytest.approx(12000, abs=PASCALS)
    assert told["rest_mv"] == pytest.approx(REST_MV, abs=5)


def test_a_line_that_drained_back_reads_below_nothing() -> None:
    bench = Bench()
    bench.pressure_pa = -8000
    bench.go("check")
    bench.until("prime")
    assert bench.records(START)[-1]["rest_pa"] == pytest.approx(-8000, abs=PASCALS)


def test_without_a_transducer_the_rest_pressure_is_nothing() -> None:
    bench = Bench(pressure_fitted=0)
    bench.go("prime")
    assert bench.records(START)[-1]["rest_pa"] == 0


def test_the_load_is_told_with_the_pressure_of_its_moment() -> None:
    """The strokes of the pump ripple by a tenth either way; a single reading would show it."""
    bench = Bench()
    bench.go("check")
    while not bench.records(LEARNED):
        bench.water_pa = WORKING_PA * (9 if bench.at_ms // 100 % 4 < 2 else 11) // 10
        bench.tick()
    told = bench.records(LEARNED)[-1]
    assert told["loaded_mv"] == pytest.approx(LOADED_MV, abs=5)
    assert told["pressure_pa"] == pytest.approx(WORKING_PA, rel=0.03)


def test_a_minute_is_a_mean() -> None:
    bench = Bench()
    bench.go("run")
    half_ms = bench.at_ms + 30000
    while not bench.records(MINUTE):
        bench.water_pa = WORKING_PA if bench.at_ms < half_ms else WORKING_PA * 11 // 10
        bench.tick()
    assert bench.records(MINUTE)[-1]["pressure_pa"] == pytest.approx(WORKING_PA * 1.05, rel=0.01)


@pytest.mark.parametrize("napping", [False, True])
def test_decay_is_logged_at_once_and_late(napping: bool) -> None:
    bench = Bench()
    bench.go("done")
    if napping:
        bench.sleep(700)
        assert bench.steps < 6000, "what comes late is slept up to"
    else:
        bench.ticks(700000)
    assert [told["after_ms"] for told in bench.records(DECAY)] == AFTER_MS


def test_a_decay_says_when_it_really_was() -> None:
    """A board that was kept from its tick is late, and says so."""
    bench = Bench()
    bench.go("done")
    bench.ticks(300)
    bench.tick(400)
    assert bench.records(DECAY)[0]["after_ms"] == 700


def test_the_next_start_ends_the_watch() -> None:
    bench = Bench()
    bench.go("done")
    bench.sleep(30)
    bench.go("run")
    assert [told["after_ms"] for told in bench.records(DECAY)] == AFTER_MS[:5]
