"""What a set asks for, in words."""

from keeper.checked import DEPTH, MINUTES, VOLUME
from rillkeeper.display_units import Shown
from rillkeeper.runlog.nights import Night


def amount_text(unit: int, amount: int, shown: Shown) -> str:
    """What a set asks for.

    >>> amount_text(DEPTH, 60, Shown())
    '6.0 mm'
    """
    if unit == MINUTES:
        return f"{amount} min"
    if unit == DEPTH:
        return shown.text(amount * 1e-4, "water depth")
    return shown.text(amount * 1e-3, "volume") if unit == VOLUME else "nothing"


def in_runs(amount: str, runs: int) -> str:
    """The amount and how it is split.

    >>> in_runs("6.0 mm", 2), in_runs("60 min", 1)
    ('6.0 mm in 2 runs', '60 min')
    """
    return amount if runs < 2 else f"{amount} in {runs} runs"


def planned_text(night: Night, shown: Shown) -> str:
    """What the sets of a night asked for: "6.0 mm in 2 runs"."""
    return " + ".join(in_runs(amount, runs) for amount, runs in _asked(night, shown))


def planned_short(night: Night, shown: Shown) -> str:
    """The same for a narrow column: "6.0 mm x2"."""
    return " + ".join(
        amount if runs < 2 else f"{amount} x{runs}" for amount, runs in _asked(night, shown)
    )


def _asked(night: Night, shown: Shown) -> list[tuple[str, int]]:
    return [(amount_text(s.unit, s.amount, shown), s.runs) for s in night.sets if s.amount]
