"""What must be fitted on a board for a fault of the catalogue to be there."""

from dataclasses import replace

from rillsim.faults.catalogue import CATALOGUE, find
from rillsim.site import BoardSpec

OPTIONS = frozenset(fault.needs for fault in CATALOGUE) - {""}
"""What not every board has, and a fault may need."""


def needs_of(*names: str) -> frozenset[str]:
    """What these faults need, of the ``OPTIONS``.

    >>> sorted(needs_of("meter_stuck", "rain"))
    ['flow_fitted']
    """
    return frozenset(find(name).needs for name in names) - {""}


def board_with(board: BoardSpec, needs: frozenset[str]) -> BoardSpec:
    """The board with these of the ``OPTIONS`` beside its own.

    >>> board_with(BoardSpec(), needs_of("meter_stuck")).flow_fitted
    True
    """
    return replace(board, **dict.fromkeys(needs, True))
