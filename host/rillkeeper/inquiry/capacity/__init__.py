"""What a used battery still holds: a test at home, or the pump's own nights, reckoned out."""

from rillkeeper.inquiry.capacity.by_pump import from_nights
from rillkeeper.inquiry.capacity.measure import Capacity, from_rests, to_the_end
from rillkeeper.inquiry.capacity.steps import steps

__all__ = ("Capacity", "from_nights", "from_rests", "steps", "to_the_end")
