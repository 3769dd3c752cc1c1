"""The coming nights: what is due, and the day on which a hand is wanted at the plot."""

from rillkeeper.morning.coming.plan import Coming, coming_nights
from rillkeeper.morning.coming.start import from_report, from_size

__all__ = ("Coming", "coming_nights", "from_report", "from_size")
