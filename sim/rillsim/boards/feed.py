"""What a board's own regulator asks of its feed."""

BROWN_OUT_V = 4.0
"""Below this the board's own regulator gives up; it starts again at ``POWER_UP_V``. Common
practice, no source."""
POWER_UP_V = 6.0
