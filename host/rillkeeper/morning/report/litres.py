"""What the litres of a report are of: a flow meter, the pressure, or what is usual."""

from collections.abc import Sequence

from rillkeeper.display_units import day_text
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.nights import Night

METER = "flow meter"


def litres_by(nights: Sequence[Night], fitted: Fitted) -> str:
    """A few words; where a meter stood still for a while it is the pressure."""
    if fitted.flow and not _meter_stood(nights):
        return METER
    return "pressure" if fitted.pressure else "usual flow"


def meter_notes(nights: Sequence[Night]) -> list[str]:
    """A sentence where a meter stood still."""
    days = ", ".join(day_text(night.day) for night in _meter_stood(nights))
    return (
        [f"The flow meter stood still ({days}): litres of then are by the pressure."]
        if days
        else []
    )


def _meter_stood(nights: Sequence[Night]) -> list[Night]:
    """Nights in which the board found it at a standstill."""
    return [night for night in nights if night.meter_stood]
