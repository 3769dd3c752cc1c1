"""Does the relay close when it is told to, and is the pump not started too often?

With a load-side sense the contact is seen directly. Without one it is inferred from the
battery, which sags when the pump draws current. Whether it opens: standstill.py.
"""

from .facts import HOUR_MS, STARTS_KEPT
from .ticks import const

_GAP_MS_MAX = const(1 << 28)  # As in facts.py.
_CHATTER_MS = const(10000)
_INFER_ON_MS = const(2000)
_FELT_MS = const(10000)
_REST_MS_MAX = const(600000)
_COOLING_PERMILLE_MAX = const(10000)
"""Bounds that keep the cooling of one look in 31 bits; looks are a minute apart."""


class RelayWatch:
    """``open_on``, ``no_sag`` and ``chatter`` as the rules want them.

    Of the facts it counts ``starts``, those of the last hour, and ``heat_ms``, pumping that the
    motor has not yet cooled from: it grows while pumping, and falls while resting at the rate
    that lets the motor run ``duty_permille`` of the time for ever.
    """

    def __init__(self, settings, facts) -> None:
        self.facts = facts
        self.sensed = settings.load_sense_fitted
        self.inferred = settings.battery_fitted and not self.sensed
        self.expected_mohm = settings.resistance_mohm
        self.cooling_permille = cooling_of(settings.duty_permille)
        self.open_on = 0
        self.no_sag = 0
        self.chatter = 0
        self._load_on = 0
        self._chatter_ms = 0
        self._felt_ms = 0
        self._felt_on = 0
        self.feels = True
        """Until the battery has felt the pump; where the contact is not sensed, always."""

    def remember(self) -> None:
        """Power came back: take the starts before it for recent ones."""
        for i in range(min(self.facts.starts, STARTS_KEPT)):
            self.facts.start_ages_ms[i] = 0

    def started(self) -> None:
        """The relay is told to close: this start takes the place of the oldest."""
        ages = self.facts.start_ages_ms
        oldest = 0
        i = 1
        while i < STARTS_KEPT:
            if ages[i] > ages[oldest]:
                oldest = i
            i += 1
        ages[oldest] = 0
        self.facts.starts += 1
        self.chatter = 0
        self._chatter_ms = 0
        self._load_on = 0
        self._felt_ms = 0
        self._felt_on = 0
        self.feels = True

    def feel(self, dt_ms: int, on_ms: int, sag_mv: int, ma: int, at_work: bool) -> None:
        """Before ``pump_on``, while ``feels``: what the battery feels of the pump.

        ``at_work``: the pump is seen to be.
        """
        quarter_mv = ma * self.expected_mohm // 4000
        unfelt = -quarter_mv < sag_mv < quarter_mv
        if sag_mv >= quarter_mv and self._felt_ms < _FELT_MS:
            self._felt_ms += dt_ms
        # A battery that has felt the pump is read; a charger or a drift may hide the sag later.
        read = self._felt_ms >= _FELT_MS
        self.feels = self.inferred or not read
        missed = unfelt and on_ms >= _INFER_ON_MS
        self.no_sag = 1 if missed and not read else 0
        if self.inferred:
            self.open_on = 1 if missed and not at_work else 0
            # Half of the sag makes it felt and less than a quarter unfelt: noise is no chatter.
            if unfelt:
                self._felt_on = 0
            elif sag_mv >= 2 * quarter_mv:
                self._felt_on = 1

    def pump_on(self, dt_ms: int, load_on: int) -> None:
        """One tick with the relay commanded closed."""
        facts = self.facts
        heat_ms = facts.heat_ms + dt_ms
        facts.heat_ms = heat_ms if heat_ms < _GAP_MS_MAX else _GAP_MS_MAX
        if self.sensed:
            self.open_on = 0 if load_on else 1
        elif self.inferred:
            load_on = self._felt_on
        else:
            return
        if load_on != self._load_on:
            self._load_on = load_on
            self.chatter += 1
        chatter_ms = self._chatter_ms + dt_ms
        if chatter_ms >= _CHATTER_MS:
            chatter_ms = self.chatter = 0
        self._chatter_ms = chatter_ms

    def heat(self, dt_ms: int) -> None:
        """The pump has worked for this long, told to or not."""
        self.facts.heat_ms = min(self.facts.heat_ms + dt_ms, _GAP_MS_MAX)

    def rest(self, dt_ms: int) -> None:
        """The pump has stood still for this long."""
        cooled_ms = min(dt_ms, _REST_MS_MAX) // 10 * self.cooling_permille // 100
        self.facts.heat_ms = max(self.facts.heat_ms - cooled_ms, 0)

    def age_starts(self, dt_ms: int) -> None:
        """Let the hour slide on."""
        ages = self.facts.start_ages_ms
        recent = 0
        i = 0
        for age_ms in ages:
            if age_ms < HOUR_MS:
                ages[i] = age_ms = age_ms + dt_ms if dt_ms < HOUR_MS else HOUR_MS
                if age_ms < HOUR_MS:
                    recent += 1
            i += 1
        self.facts.starts = recent


def cooling_of(duty_permille: int) -> int:
    """How fast a motor cools at rest, in thousandths of a second of pumping each second."""
    return min(duty_permille * 1000 // max(1000 - duty_permille, 1), _COOLING_PERMILLE_MAX)
