"""A board that is woken in the middle of its nap is due when it was due before."""

from .bench import Bench


def test_what_is_left_of_a_nap() -> None:
    bench = Bench()
    bench.sleep(60)
    # The bench wakes it on the spot, and it looks around.
    bench.until(lambda: bench.keeper.nap_ms == 60000, 120)
    bench.tick(20000)
    assert bench.keeper.nap_ms == 40000
    bench.tick(40000)
    assert bench.keeper.nap_ms == 60000
