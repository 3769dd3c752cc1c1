"""A standstill by itself, looked at as a board would.

Normal pressure is 200 kPa here and the line stands at none: 100 kPa more is taken for the pump's
work, 50 kPa in a minute are followed, and a shut line is one above 240 kPa. The lift is 400 mV, so
that more than 100 mV are a sag, and a battery that comes up by 100 mV has lost a load.
"""

from keeper import Settings
from keeper.quantities import (
    BATTERY_BAD,
    BATTERY_MV,
    CURRENT_BAD,
    CURRENT_MA,
    PRESSURE_BAD,
    PRESSURE_PA,
    QUANTITIES,
)
from keeper.standstill import STANDS, Standstill

from .bench import SITE

LIFT_MV = 400
STOP_MV, REST_MV = 12000, 12600
FLOWING_PA, SHUT_PA = 200000, 240000
BLIND = {"load_sense_fitted": 0}
NO_BATTERY = {**BLIND, "battery_fitted": 0}
MINUTE = 60000


class Watch:
    """A standstill that is looked at once a minute, or as often as asked."""

    def __init__(self, **settings: int) -> None:
        self.it = Standstill(Settings({**SITE, **BLIND, **settings}))
        self.q = [0] * len(QUANTITIES)

    def look(
        self,
        pa: int = 0,
        mv: int = REST_MV,
        dt_ms: int = MINUTE,
        off_ms: int = 1 << 28,
        load_on: int = 0,
        stuck: bool = False,
        **bad: int,
    ) -> int:
        if not stuck:
            self.it._last_pa = -1  # No two readings of a sound transducer are the same.
        self.q[PRESSURE_PA], self.q[BATTERY_MV] = pa, mv
        self.q[BATTERY_BAD], self.q[PRESSURE_BAD] = bad.get("battery", 0), bad.get("pressure", 0)
        self.q[CURRENT_MA], self.q[CURRENT_BAD] = bad.get("ma", 0), bad.get("current", 0)
        self.it.look(dt_ms, off_ms, load_on, self.q, LIFT_MV)
        return int(self.it.works)

    def stop(
        self, pa: int = FLOWING_PA, mv: int = STOP_MV, sag_mv: int = 600, is_open: int = 0
    ) -> None:
        self.it.stopped(sag_mv, mv, LIFT_MV, pa, is_open)


def resting(**settings: int) -> Watch:
    """A board that has seen line and battery at rest for two minutes."""
    watch = Watch(**settings)
    assert [watch.look(), watch.look()] == [STANDS, STANDS]
    return watch
