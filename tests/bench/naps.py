"""What the board itself draws in a day, counted in its loop, beside what the limits have."""

from tests.bench.table import Row
from tests.device.naps import Course, day
from tests.device.test_naps import SHARE


def rows() -> list[Row]:
    """A day with one set, by each board's naps (processor times as in the model of the line)."""
    return [_row(port, day(port)) for port in ("rp2", "esp32")]


def _row(port: str, course: Course) -> Row:
    off = course.mean_a / course.expected_a - 1.0
    asleep = course.asleep_ms / (course.awake_ms + course.asleep_ms)
    return Row(
        f"the board's own draw, {port}: asleep {100 * asleep:.1f} % of a day",
        f"{1e3 * course.mean_a:.2f} mA",
        f"{1e3 * course.expected_a:.2f} mA in the limits",
        f"{100 * off:+.1f} %",
        f"within {100 * SHARE:.0f} %",
        abs(off) <= SHARE,
    )
