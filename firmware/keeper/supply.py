"""The supply under load: is the pump stuck, and has its fuse blown?

The battery is read behind the pump's fuse, and the board is fed past it by a fuse of its own
(hardware_notes/power.md). So a fuse that blows takes the reading and the load side away, and the
board lives on to say so. A hand switch that is opened does the same, without the current of a
standing pump before it.
"""

from .quantities import BATTERY_MV, CURRENT_MA, FUSE_BLOWN, PRESSURE_PA, SAG_MV
from .sense import BELOW_BAND

_STRAIN_MS = 3000
"""Load that is gone so soon after the current of a standing pump was not switched off: its fuse
has blown. Blades melt at once or within seconds (ISO 8820-3, from memory)."""
_LONG_AGO_MS = 1 << 28
_RECENT_TICKS = 8
"""The voltage before a strain: a mean that forgets in about a second."""

_NO_PRESSURE_PA = 1 << 29
"""No reading comes up to it: without a transducer, no pressure shows that the pump turns."""


class Supply:
    """What battery, clamps, cable and fuse show while the relay is told to be closed."""

    def __init__(self, keeper) -> None:
        self.keeper = keeper
        settings = keeper.settings
        self._turns_pa = settings.primed_pa if settings.pressure_fitted else _NO_PRESSURE_PA
        self.strained = False
        self._recent_mv = 0
        self._since_strain_ms = _LONG_AGO_MS

    def begin(self) -> None:
        """The relay is about to close."""
        self.strained = False
        keeper = self.keeper
        self._recent_mv = keeper.rest_mv - keeper.charge.lift_mv(keeper.normal_ma)
        self._since_strain_ms = _LONG_AGO_MS
        self.keeper.q[SAG_MV] = 0
        self.keeper.q[FUSE_BLOWN] = 0

    def look(self, battery_n: int, current_n: int) -> None:
        """Is there, on this very tick, the current of a pump that stands?

        By the counts themselves: fuses melt within two or three ticks, and the median of three
        is a tick late. Without a battery reading what leaves the current channel's span is one.
        """
        keeper = self.keeper
        settings = keeper.settings
        senses = keeper.senses
        if settings.battery_fitted:
            spare_ma = settings.stall_ma - keeper.watering.pump_ma
            drop_mv = max(spare_ma, 0) * settings.resistance_mohm // 2000
            sound = battery_n >= senses.battery.low_count
            self.strained = sound and self._recent_mv - senses.millivolts(battery_n) > drop_mv
        else:
            self.strained = settings.current_fitted and current_n > senses.stall_count

    def tick(self, dt_ms: int, load_on: int) -> None:
        """One tick with the relay commanded closed."""
        keeper = self.keeper
        settings = keeper.settings
        q = keeper.q
        sag_mv = keeper.rest_mv - q[BATTERY_MV]
        turns = q[PRESSURE_PA] > self._turns_pa
        unfed = settings.battery_fitted and keeper.senses.battery.quality == BELOW_BAND
        # With pressure the pump turns, however deep the sag: then it is the supply.
        q[SAG_MV] = 0 if turns or unfed else sag_mv
        if self.strained:
            self._since_strain_ms = 0
        else:
            self._since_strain_ms = min(self._since_strain_ms + dt_ms, _LONG_AGO_MS)
        self._recent_mv += (q[BATTERY_MV] - self._recent_mv) // _RECENT_TICKS
        dead = settings.load_sense_fitted and not load_on
        gone = dead or unfed or self._idle(sag_mv)
        q[FUSE_BLOWN] = 1 if gone and self._since_strain_ms <= _STRAIN_MS else 0

    def _idle(self, sag_mv: int) -> bool:
        """Whether no current flows into the pump."""
        keeper = self.keeper
        settings = keeper.settings
        if settings.current_fitted:
            none = keeper.senses.current.quality == BELOW_BAND
            return none or keeper.q[CURRENT_MA] < settings.current_zero_ma >> 2
        return abs(sag_mv) < keeper.relaywatch.quarter_mv
