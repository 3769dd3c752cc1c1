"""Which sensors a board has: what is not fitted reads nothing, and nothing is said of it.

The board writes a number in every place of a record. Where no sensor stands behind it, that is
what it takes for usual: the pressure of its settings, a battery at rest. A log alone tells such a
place by this, that the number never moves.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from keeper.rules import NEEDS, RULES
from rillkeeper.runlog.lines import Entry
from rillsim.site import BoardSpec

SETTABLE = (
    *("battery", "pressure", "frost", "load_sense", "current"),
    *("rain", "second_relay", "flow"),
)
"""Of these a board's settings tell whether they are fitted, each by a key ending in _fitted."""
_STILL_MIN = 3
"""So many readings alike, to the last digit, of a running pump come from no sensor."""


@dataclass(frozen=True)
class Fitted:
    """Which sensors there are."""

    battery: bool = True
    pressure: bool = True
    frost: bool = True
    load_sense: bool = True
    """The pump's wire is read back behind the relay."""
    current: bool = True
    rain: bool = True
    second_relay: bool = True
    """In series with the first."""
    clock_chip: bool = True
    """It keeps the time without the battery."""
    flow: bool = False
    """A meter at the pump's outlet: where nobody says that there is one, no litre is measured."""

    @classmethod
    def of(cls, board: BoardSpec | None) -> "Fitted":
        """As the site has it; all of them but a flow meter where that is not known."""
        if board is None:
            return cls()
        return cls(
            board.battery_fitted,
            board.pressure_fitted,
            board.frost_fitted,
            board.load_sense_fitted,
            board.current_fitted,
            board.rain_fitted,
            board.second_relay_fitted,
            board.clock_backed,
            board.flow_fitted,
        )

    @classmethod
    def of_settings(cls, settings: Mapping[str, int], board: BoardSpec | None = None) -> "Fitted":
        """As the board's settings have it; of the clock's chip only the site tells."""
        there = {name: bool(settings.get(f"{name}_fitted", 0)) for name in SETTABLE}
        there["clock_chip"] = board.clock_backed if board else True
        return cls(**there)

    @classmethod
    def of_log(cls, entries: Sequence[Entry]) -> "Fitted":
        """As far as the log itself shows it; what never shows there is taken for not fitted."""
        spoke = set(_needed(entries))
        return cls(
            battery="battery" in spoke or _moves(entries, "battery_mv"),
            pressure="pressure" in spoke or _moves(entries, "pressure_pa"),
            frost="frost" in spoke or any(entry.numbers.get("frost_dc") for entry in entries),
            load_sense=False,
            current="current" in spoke,
            rain=any(entry.kind == "rain" for entry in entries),
            second_relay="second_relay" in spoke,
            flow="flow" in spoke,
        )

    @property
    def sees_water(self) -> bool:
        """Whether a sensor tells that the pump moves water."""
        return self.pressure or self.flow

    def mv(self, value: int) -> int | None:
        return value if self.battery else None

    def pa(self, value: int) -> int | None:
        return value if self.pressure else None


def _needed(entries: Sequence[Entry]) -> Iterator[str]:
    """The sensors of the rules that have spoken; where either of two will do neither is known."""
    for entry in entries:
        if entry.kind in ("trip", "warn") and 0 <= entry["rule"] < len(RULES):
            yield from RULES[entry["rule"]][NEEDS].split()


def _moves(entries: Sequence[Entry], name: str) -> bool:
    """Whether a reading of the running pump is ever another; few readings are believed."""
    seen = [entry[name] for entry in entries if entry.kind == "minute"]
    return len(seen) < _STILL_MIN or len(set(seen)) > 1
