"""Figures of the last night that are far from what they should be, whatever the board says.

The board stops for what does harm at once. A nozzle that has worn to a third less pressure, or a
clamp that takes twice what it took, does none in a night: here it shows all the same.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from rillkeeper.display_units import Shown, day_text
from rillkeeper.morning.nights_left import settings_by
from rillkeeper.morning.report.report import Report
from rillkeeper.runlog.nights import Night

PRESSURE_OFF = 0.2
"""A share by which the pressure of sound nights does not differ: a battery that empties and a
water level that falls take a tenth of it (replays of the demonstration)."""
RESISTANCE_OFF = 0.5
RESISTANCE_MIN_MOHM = 10.0
"""Of battery, clamps and cable: half as much again as it was, and so much at least (common
practice, no source)."""
_BEFORE_MIN = 2
"""Nights that say what is usual, where no site file does."""


@dataclass(frozen=True)
class Figure:
    """One figure that is far off."""

    kind: str
    """What is amiss: "water" or "supply"."""
    words: str
    since: str
    since_day: int
    """Day number of that night."""
    look: str


def far_off(report: Report) -> Iterator[Figure]:
    """The figures of the last night with a run that are far off."""
    shown = report.shown
    usual = report.settings or ({} if report.other_site else settings_by(report.site))
    nights = [night for night in report.nights if night.runs]
    pressure = _off(nights, lambda night: night.pressure_pa, usual.get("normal_pa"))
    if pressure and abs(pressure.share) > PRESSURE_OFF:
        side = "under" if pressure.share < 0.0 else "over"
        yield Figure(
            "water",
            f"pressure {shown.text(pressure.value, 'pressure')}, "
            f"{100 * abs(pressure.share):.0f} % {side} the usual "
            f"{shown.text(pressure.usual, 'pressure')}",
            *pressure.since(PRESSURE_OFF),
            "A low pressure comes from a worn nozzle, a leak, a worn pump or air in the suction "
            "line; a high one from a kink in the hose or a blocked nozzle.",
        )
    supply = _off(nights, _resistance_mohm, usual.get("resistance_mohm"))
    if supply and supply.share > RESISTANCE_OFF:
        if supply.value - supply.usual > RESISTANCE_MIN_MOHM:
            yield Figure(
                "supply",
                f"battery, clamps and cable take {_taken(nights, supply.value, shown)} while the "
                f"pump runs, usual are {_taken(nights, supply.usual, shown)}",
                *supply.since(RESISTANCE_OFF),
                "Clean and tighten both battery clamps; then have the battery tested.",
            )


@dataclass(frozen=True)
class _Off:
    """The last night's value against the usual one."""

    rows: tuple[tuple[int, float], ...]
    """Day number and value, by night."""
    usual: float

    @property
    def value(self) -> float:
        return self.rows[-1][1]

    @property
    def share(self) -> float:
        """How far it is off, in parts of the usual."""
        return self.value / self.usual - 1.0

    def since(self, limit: float) -> tuple[str, int]:
        """From which night on, without a break: in words, and its day number."""
        first = self.rows[-1][0]
        for day, value in reversed(self.rows):
            if (value / self.usual - 1.0) * self.share < 0.0 or (
                abs(value / self.usual - 1.0) <= limit
            ):
                break
            first = day
        if first == self.rows[0][0] and len(self.rows) > 1:
            return "from the first night on", first
        return f"since the night of {day_text(first)}", first


def _off(
    nights: Sequence[Night], read: Callable[[Night], float | None], usual: float | None
) -> _Off | None:
    rows = tuple((night.day, value) for night in nights if (value := read(night)) is not None)
    if not usual and len(rows) > _BEFORE_MIN:
        usual = median(value for _, value in rows[:-1])
    return _Off(rows, float(usual)) if rows and usual else None


def _taken(nights: Sequence[Night], mohm: float, shown: Shown) -> str:
    """The voltage that a resistance takes, at the current that was last learned with one."""
    learned = [run.learned for night in nights for run in night.runs if run.learned]
    return shown.text(mohm * learned[-1].current_ma * 1e-6, "voltage")


def _resistance_mohm(night: Night) -> float | None:
    learned = [run.learned.resistance_mohm for run in night.runs if run.learned]
    return median(learned) if learned else None
