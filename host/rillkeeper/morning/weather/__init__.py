"""Weather that the user has, as a CSV table: what the crop used, and what the soil still has."""

from rillkeeper.morning.weather.balance import Balance, DayBalance, balance_of
from rillkeeper.morning.weather.reader import read_file, read_text
from rillkeeper.morning.weather.reference import Reference, reference_of

__all__ = (
    "Balance",
    "DayBalance",
    "Reference",
    "balance_of",
    "read_file",
    "read_text",
    "reference_of",
)
