"""One setting of the board, and the sentence that says why."""

from dataclasses import dataclass

from rillkeeper.design.limits.working_site import WorkingSite
from rillkeeper.display_units import Shown

ROOM = 1.20
"""A limit stands at least this far from what is normal (common practice, no source)."""


@dataclass(frozen=True)
class Limit:
    """One setting of the board, and why it is what it is."""

    key: str
    value: int
    reason: str


def shown_of(work: WorkingSite) -> Shown:
    """Quantities as this site's owner reads them."""
    return Shown(work.site.units)
