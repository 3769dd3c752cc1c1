"""Nights left on the charge: the board's count, and what the readings say of the battery."""

from rillkeeper.morning.nights_left.predict import (
    NightsLeft,
    each_morning,
    nights_left,
    settings_by,
)
from rillkeeper.morning.nights_left.tonight import next_day

__all__ = ("NightsLeft", "each_morning", "next_day", "nights_left", "settings_by")
