"""What is counted and summed of each season: one row of numbers."""

from rillkeeper.season.task import CUT, FULL, MISSED, RAIN, Result

KINDS = (FULL, RAIN, CUT, MISSED)
FIGURES = (
    "full", "rain", "cut", "missed", "dry_days", "trips", "litres", "taken_l", "pump_h",
    "starts", "used_ah", "spray_mm", "rain_mm", "demand_mm", "reference_mm",
)  # fmt: skip
"""What is told of each season; counts of nights, days and trips, then amounts."""
SHORT = "short"
"""Nights cut or missed."""
COLUMNS = (*FIGURES, SHORT)


def figures_of(season: Result) -> dict[str, float]:
    """The row of a season.

    >>> row = dict.fromkeys(FIGURES, 1.5) | {"kinds": ["full", "cut", "missed"], "trips": [2]}
    >>> found = figures_of(row)
    >>> found["full"], found["short"], found["trips"], found["litres"]
    (1.0, 2.0, 1.0, 1.5)
    """
    kinds = season["kinds"]
    counted = {kind: kinds.count(kind) for kind in KINDS} | {"trips": len(season["trips"])}
    counted[SHORT] = counted[CUT] + counted[MISSED]
    return {key: float(counted[key] if key in counted else season[key]) for key in COLUMNS}
