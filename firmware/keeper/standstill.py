"""Does the pump stand still when it is told to? Looked at in every quiet state, lockout included.

What tells that it works, best first:

    load side    is live, or the pump's current flows
    battery      does not come up again just after a stop
    pressure     does not fall just after a stop, where the battery tells nothing
    both         later: pressure rises as only a pump lets it rise, and the battery sags with it
    pressure     later, where neither load side nor battery tells anything: it must stay up

What does not: pressure that a shut line holds, the static head of a raised line, the sun on a shut
hose (slow, and the battery does not feel it), a charger or a panel that lifts the battery. A pump
that runs dry makes no pressure: without load sense or current it is not seen.
"""

from .ticks import const

# The numbers of quantities.py.
_PRESSURE_PA = const(0)
_BATTERY_MV = const(3)
_CURRENT_MA = const(7)
_BATTERY_BAD = const(19)
_PRESSURE_BAD = const(20)
_CURRENT_BAD = const(22)

STANDS, STAYED, BY_ITSELF, SINCE_POWER, INVERTED = range(5)
KINDS = (
    "stands still",
    "stayed closed",
    "closed by itself",
    "closed since power came",
    "closed when told to open",
)

_INFER_ON_MS = const(2000)
_LOOK_FROM_MS = const(3000)
_LOOK_UNTIL_MS = const(15000)
"""After a stop pump and battery are looked at from the one until the other."""
_STAYS_MS = const(60000)
"""Pressure alone must stay up for so long: a foot on the hose does not."""
_UNFELT_MS = const(10000)
"""Pressure that the battery does not feel for so long is how the line stands now."""
_MINUTE_MS = const(60000)
_MINUTES_MAX = const(60)
_RISE_SHARE = const(2)
"""Half of what the working pump adds to the line's pressure is taken for its work."""
_CREEP_SHARE = const(4)
"""A quarter of it in a minute is followed: full sun lifts a shut hose by less, a rigid pipe by
about that (reckoned from water's expansion against the wall's stretch; no source)."""
_SAG_CREEP_SHARE = const(5)
"""A resting battery may sink by a fifth of what is taken for a sag in a minute."""
_OF_THE_LINE = (
    "works",
    "_kind",
    "_still_pa",
    "_rest_mv",
    "_lifted",
    "_stop_mv",
    "_recovery_mv",
    "_stop_pa",
    "_last_pa",
    "_moved",
    "_fall_pa",
)
"""What is seen of pump, battery and line, and is as true under other settings."""


class Standstill:
    """``works``: 0 while the pump stands, else how it came to work against the command (KINDS).

    ``doubt``: whether the next tick must be looked at.
    """

    def __init__(self, settings) -> None:
        self.settings = settings
        self.seen = settings.load_sense_fitted or settings.current_fitted
        self.inferred = settings.battery_fitted and not settings.load_sense_fitted
        self.works = STANDS
        self.doubt = False
        self._kind = SINCE_POWER
        """What a pump that is found at work would be."""
        work_pa = settings.normal_pa - settings.static_pa
        self.rise_pa = work_pa // _RISE_SHARE
        self._creep_pa = work_pa // _CREEP_SHARE
        self._flow_pa_max = (settings.normal_pa + settings.dead_head_pa) // 2
        self._still_pa = settings.static_pa
        """Pressure of the standing line."""
        self._rest_mv = -1
        """Battery voltage while the pump stands; below 0: not known."""
        self._lifted = False
        """That is a full battery's, for a charge still held it up: one that does not feel a load
        by it is no evidence."""
        self._up_ms = 0
        self._powered_ms = 0
        self._minute_ms = 0
        self._last_pa = -1
        self._moved = True
        """The reading of pressure has changed since the pump was stopped, or since it came up:
        that of a pump at work does, and that of a line; a stuck transducer tells nothing."""
        self._stop_mv = 0
        self._recovery_mv = 0
        self._stop_pa = 0
        self._fall_pa = 0

    def go_on(self, before) -> None:
        """Go on from a keeper with other settings: the line is as it was."""
        for name in _OF_THE_LINE:
            setattr(self, name, getattr(before, name))

    def looked(self, pressure_pa: int) -> None:
        """A person has looked: so the line stands."""
        self._still_pa = pressure_pa
        self._up_ms = 0

    def pump_on(self, on_ms: int, sag_mv: int, lift_mv: int) -> int:
        """``works`` with the relay told to close: a battery that comes up has lost a load."""
        lost_load = self.inferred and on_ms >= _INFER_ON_MS and -sag_mv > lift_mv // 4 > 0
        self.works = INVERTED if lost_load else STANDS
        return self.works

    def stopped(
        self, sag_mv: int, battery_mv: int, lift_mv: int, pressure_pa: int, is_open: int
    ) -> None:
        """The relay is told to open: the battery must come up by a part of ``lift_mv``.

        Its rest voltage says nothing here: a full battery has given up some of it for good.
        Pressure must fall, unless the line was shut or empty. A contact that ``is_open`` has
        nothing to end: one that carries from now on works backwards.
        """
        self.works = STANDS
        self._kind = INVERTED if is_open else STAYED
        quarter_mv = lift_mv // 4
        self._stop_mv = battery_mv
        # A pump that the battery did not feel is not missed by it either.
        self._recovery_mv = quarter_mv if sag_mv > quarter_mv else 0
        self._rest_mv = battery_mv if is_open else -1
        self._stop_pa = self._still_pa = self._last_pa = pressure_pa
        self._moved = False
        fall_pa = pressure_pa - self.settings.static_pa
        flows = self.rise_pa <= fall_pa and pressure_pa < self._flow_pa_max
        self._fall_pa = fall_pa // 4 if flows else 0

    def look(self, dt_ms: int, off_ms: int, load_on: int, q: list, lift_mv: int) -> None:
        """One look, or one tick, with the relay told to open.

        ``lift_mv``: what the pump at this pressure would take from the battery's voltage.
        """
        self.doubt = False
        if q[_PRESSURE_PA] != self._last_pa:
            self._last_pa = q[_PRESSURE_PA]
            self._moved = True
        if self.live(load_on, q):
            self.works = self._kind
            return
        if self._kind == STAYED and not self.seen:
            works = self._goes_on(off_ms, q)
        else:
            works = self._begins(dt_ms, q, lift_mv // 4)
            if not works and (self.seen or not self._up_ms):
                self._rests(dt_ms)
        self.works = self._kind if works else STANDS

    def _rests(self, dt_ms: int) -> None:
        """It is seen to stand: if it works later, it has begun by itself.

        Just after power came that means little: a module that closes when it is told to open has
        closed a moment ago.
        """
        if self._kind == SINCE_POWER:
            self._powered_ms += dt_ms
            if self._powered_ms < _STAYS_MS:
                return
        self._kind = BY_ITSELF

    def live(self, load_on: int, q: list) -> bool:
        """Whether the load side is live, or the pump's current flows."""
        settings = self.settings
        if settings.load_sense_fitted and load_on:
            return True
        measured = settings.current_fitted and not q[_CURRENT_BAD]
        return bool(measured and q[_CURRENT_MA] > settings.current_zero_ma // 2)

    def battery_tells(self, q: list) -> bool:
        """Whether the battery's voltage is its own: it is read well, and no charger lifts it."""
        settings = self.settings
        good = settings.battery_fitted and not q[_BATTERY_BAD]
        return bool(good and q[_BATTERY_MV] < settings.charging_mv)

    def pressure_tells(self, q: list) -> bool:
        """Whether the pressure is read well."""
        return bool(self.settings.pressure_fitted and not q[_PRESSURE_BAD])

    def _goes_on(self, off_ms: int, q: list) -> bool:
        """After a stop: whether the pump has not stopped."""
        self.doubt = off_ms < _LOOK_UNTIL_MS
        if off_ms < _LOOK_FROM_MS:
            return False
        tells = self._recovery_mv > 0 and self.battery_tells(q)
        recovered = q[_BATTERY_MV] - self._stop_mv >= self._recovery_mv
        flowed = self._fall_pa > 0 and self.pressure_tells(q)
        fallen = flowed and self._stop_pa - q[_PRESSURE_PA] >= self._fall_pa
        if off_ms < _LOOK_UNTIL_MS:
            return tells and not recovered and not fallen
        if flowed and (self.settings.panel_fitted or not tells):
            goes_on = not fallen and self._moved
        else:
            goes_on = self.works > 0 and not fallen and not (tells and recovered)
        if not goes_on:
            self._kind = BY_ITSELF
            self._still_pa = q[_PRESSURE_PA]
        return goes_on

    def _begins(self, dt_ms: int, q: list, quarter_mv: int) -> bool:
        """Whether the pump has begun to work by itself."""
        if not self.pressure_tells(q):
            return False
        pressure_pa = q[_PRESSURE_PA]
        minutes = self._minutes(dt_ms)
        if pressure_pa - self._still_pa <= self.rise_pa:
            self._stands(minutes, q, quarter_mv)
            return False
        tells = self._rest_mv >= 0 and self.battery_tells(q)
        if tells and self._rest_mv - q[_BATTERY_MV] > quarter_mv:
            return True
        alone = (not tells or self._lifted) and not self.seen
        if alone and pressure_pa > self.settings.rating_pa:
            # Wires that are exchanged look so; a pump has a limit.
            return False
        # The first look counts for a millisecond: it only starts the hold.
        if not self._up_ms:
            self._moved = False
        self._up_ms = min(self._up_ms + dt_ms, _STAYS_MS) if self._up_ms else 1
        if alone:
            self.doubt = self._up_ms < _STAYS_MS
            return not self.doubt and self._moved
        self.doubt = self._up_ms < _UNFELT_MS
        if not self.doubt:
            self.looked(pressure_pa)
        return False

    def _minutes(self, dt_ms: int) -> int:
        """Whole minutes that have passed, the rest kept for the next look."""
        self._minute_ms += dt_ms
        minutes = self._minute_ms // _MINUTE_MS
        self._minute_ms -= minutes * _MINUTE_MS
        return min(minutes, _MINUTES_MAX)

    def _stands(self, minutes: int, q: list, quarter_mv: int) -> None:
        """Take line and battery for how they are with a pump that stands."""
        self._up_ms = 0
        up_pa = q[_PRESSURE_PA] - self._still_pa
        self._still_pa += min(up_pa, self._creep_pa * minutes)
        settings = self.settings
        if not settings.battery_fitted or q[_BATTERY_BAD]:
            return
        # A charger's or a panel's voltage is no rest to reckon a sag from.
        self._lifted = q[_BATTERY_MV] >= settings.charging_mv
        mv = settings.charged_mv if self._lifted else q[_BATTERY_MV]
        down_mv = self._rest_mv - mv
        self._rest_mv = mv + max(down_mv - quarter_mv // _SAG_CREEP_SHARE * minutes, 0)
