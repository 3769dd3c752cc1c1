"""The power lost at every tick of a half-hour run, and back again, fault by fault."""

from tests.bench.table import Row
from tests.power.ramboard import SET_S, SETTINGS
from tests.power.reboots import FAULTS, starts_of_a_crash, sweep, sweep_fault, totals_ms

FAULT_TICK = 9000
"""Half way through the run."""


def rows(every: int = 1) -> list[Row]:
    """Cuts that came out right, of all; then what the relay was closed for in both parts."""
    figures = [_row(f"reboot into: {fault}", *sweep(fault, every)) for fault in FAULTS]
    figures += [
        _row(f"reboot before and after a trip: {fault}", *sweep_fault(fault, FAULT_TICK, every))
        for fault in FAULTS
        if fault != "none"
    ]
    totals = [total / 1000.0 for total in totals_ms(every)]
    limit_s = SETTINGS["run_max_s"]
    held = SET_S <= min(totals) and max(totals) <= limit_s
    figures.append(
        Row(
            f"relay closed for a set of {SET_S} s, with a reboot ({len(totals)} memories)",
            f"{min(totals):.1f} to {max(totals):.1f} s",
            goal=f"{SET_S} to {limit_s} s",
            met=held,
        )
    )
    worst = max(starts_of_a_crash(ticks) for ticks in range(1, 60, 10))
    most = SETTINGS["starts_max"]
    figures.append(
        Row(
            "starts in a night when each start resets the board",
            str(worst),
            goal=f"at most {most}",
            met=worst <= most,
        )
    )
    return figures


def _row(figure: str, tried: int, found: list[str]) -> Row:
    result = found[0] if found else "-"
    right = f"{tried - len(found):,} of {tried:,}"
    return Row(figure, right, result=result, goal="all", met=not found)
