"""Rillkeeper's control package: the same files on the board, in the simulator and in the tests."""

from .core import Keeper
from .settings import Settings, SettingsError

__all__ = ("Keeper", "Settings", "SettingsError")
VERSION = "0.1.0"
