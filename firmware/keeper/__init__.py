"""Rillkeeper's control package: the same files on the board, in the simulator and in the tests."""

from .checked import Settings, SettingsError
from .core import Keeper

__all__ = ("Keeper", "Settings", "SettingsError")
VERSION = "0.1.0"
