"""Flash endurance: erases of the most worn block, from the board's own loop on a real littlefs."""

from tests.bench.table import Row
from tests.power.wear import RATED_ERASES, measure


def rows(nights: int = 20) -> list[Row]:
    """So many nights with a set of half an hour each, taken on to ten years."""
    worn = measure(nights)
    return [
        Row(
            f"flash, {nights} nights, {worn.records / nights:.0f} records and "
            f"{worn.total / nights:.0f} erases a night",
            f"worst block {worn.worst} erases, {worn.worst_in_ten_years:,} in ten years",
            f"{RATED_ERASES:,} rated",
            f"{nights / 365.25 * RATED_ERASES / worn.worst:,.0f} years",
            "over 10 years",
            worn.worst_in_ten_years < RATED_ERASES,
        )
    ]
