"""A wire that touches now and then: bad ticks count, and good ones take half as much back."""

import pytest

from .bench import TICK_MS, Bench

CHANNELS = {"battery": "bad battery", "pressure": "bad pressure", "current": "bad current"}


def flicker(bench: Bench, channel: str, ticks: str) -> None:
    """One tick for each letter, "x" with the channel off and "." with it on."""
    for letter in ticks:
        bench.raw = {channel: -1} if letter == "x" else {}
        bench.tick()


def running() -> Bench:
    bench = Bench(current_fitted=1)
    bench.go("run")
    return bench


@pytest.mark.parametrize("channel", CHANNELS)
def test_five_ticks_in_six_trip(channel: str) -> None:
    bench = running()
    flicker(bench, channel, "xxxxx." * 2)
    assert bench.state == "done"
    assert bench.said(CHANNELS[channel])


@pytest.mark.parametrize("channel", CHANNELS)
def test_one_tick_in_three_never_trips(channel: str) -> None:
    bench = running()
    flicker(bench, channel, "x.." * 400)
    assert bench.state == "run"
    assert not bench.said(CHANNELS[channel])


@pytest.mark.parametrize("state", ["check", "prime", "run"])
@pytest.mark.parametrize(
    "ticks", ["xxxxxxx", "xxxxx.xxx", "xxxxxx..xx", "x.xxxxxxx", "xxxx.x.xxx", "xx.xx.xx.xx.x"]
)
def test_trips_at_its_tick(state: str, ticks: str) -> None:
    """The first bad tick is the start, 0 ms long; each further adds 100, each good takes 50."""
    bench = Bench()
    bench.go(state)
    flicker(bench, "pressure", ticks[:-1])
    assert bench.state == state
    assert not bench.said("bad pressure")
    flicker(bench, "pressure", ticks[-1])
    (said,) = bench.said("bad pressure")
    hold_ms = bench.settings.sensor_hold_ms
    assert hold_ms <= said["held_ms"] < hold_ms + TICK_MS


def test_what_is_not_a_reading_needs_an_unbroken_hold() -> None:
    """A sag that comes and goes is the pump's stroke, and no fault of a wire."""
    bench = running()
    for tick in range(600):
        bench.battery_mv = None if tick % 5 < 2 else 8495  # The median hides one.
        bench.tick()
    assert not bench.said("brown-out")
