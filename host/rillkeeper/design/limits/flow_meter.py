"""The flow meter: what a pulse stands for, and how long too few may come.

A sound line may give half of what is expected of it and no less. A nozzle's flow goes with the
root of its pressure, so that at half of the flow the pressure is at a quarter, where a pump counts
as dry; and a nozzle that is choked by so much keeps the pressure up, which comes near the limit
on a shut line.
"""

from math import ceil

from rillkeeper.design.limits.working_site import AtWork, Limit, WorkingSite
from rillkeeper.display_units import duration_text
from rillkeeper.errors import NoSafeLimit
from rillsim.water.meter_wheel import STANDS_BELOW_M3_S

LEAST_SHARE = 0.5
"""Of the flow with a used battery: see above."""
PULSES_MIN = 4
"""So many must come in the wait at the least, so that neither one that is missed nor the few per
cent that a meter is off stops a sound pump (common practice, no source)."""
WAIT_MIN_S = 5.0
"""Air from the suction line lets a wheel stand for a moment (common practice, no source)."""
WAIT_MAX_S = 20.0
"""Longer than this no pump should work against a shut line (common practice, no source)."""
WHEEL_ROOM = 2.0
"""So many times the flow at which a wheel begins to turn is left: one that is worn, or has a fibre
on it, begins later (common practice, no source)."""
PULSES_MAX_HZ = 500.0
"""The filter before the board's pin, which keeps a pump's brush noise out, passes no more
(hardware_notes/sensing.md)."""
_UL_PER_LITRE = 1e6
_LITRES_PER_M3 = 1e3


def flow_meter(work: WorkingSite) -> list[Limit]:
    """Nothing without a meter. Raises NoSafeLimit for one that is too coarse, or too fine."""
    if not work.site.board.flow_fitted:
        return []
    _check_wheel(work)
    pulses = _pulses(work)
    least_hz = LEAST_SHARE * pulses_hz(work, work.used)
    needs_s = PULSES_MIN / least_hz
    _check(work, needs_s)
    wait_s = max(WAIT_MIN_S, float(ceil(needs_s)))
    return [
        Limit(
            "pulse_ul",
            round(_UL_PER_LITRE / work.site.board.flow_pulses_per_l),
            f"The flow meter gives {pulses}: so much water passes it in each.",
        ),
        Limit(
            "no_flow_ms",
            round(1e3 * wait_s),
            f"Half of the flow with a used battery still gives {int(least_hz * wait_s)} pulses in "
            f"{duration_text(wait_s)}: where hardly a third of what is expected comes in that "
            "time, the line is shut, or the pump is dry.",
        ),
    ]


def pulses_hz(work: WorkingSite, at_work: AtWork) -> float:
    """Pulses a second at an operating point."""
    return at_work.point.flow_m3_s * _LITRES_PER_M3 * work.site.board.flow_pulses_per_l


def _pulses(work: WorkingSite) -> str:
    per_l = work.site.board.flow_pulses_per_l
    return f"{per_l:g} {'pulse' if per_l == 1.0 else 'pulses'} per litre"


def _check_wheel(work: WorkingSite) -> None:
    least_m3_s, turns_m3_s = (
        LEAST_SHARE * work.used.point.flow_m3_s,
        WHEEL_ROOM * STANDS_BELOW_M3_S,
    )
    if least_m3_s < turns_m3_s:
        raise NoSafeLimit(
            f"{work.site.name}: the flow meter's wheel may stand still in a sound run: half of "
            f"the flow is {work.shown.text(least_m3_s, 'flow')}, and it wants "
            f"{work.shown.text(turns_m3_s, 'flow')} or more; leave the flow meter out"
        )


def _check(work: WorkingSite, needs_s: float) -> None:
    per_l = work.site.board.flow_pulses_per_l
    if needs_s > WAIT_MAX_S:
        flow = work.shown.text(work.used.point.flow_m3_s, "flow")
        raise NoSafeLimit(
            f"{work.site.name}: the flow meter gives {_pulses(work)} and is too coarse: at half "
            f"of {flow} {PULSES_MIN} pulses take {duration_text(needs_s)}, and without water the "
            f"pump must stop within {duration_text(WAIT_MAX_S)}; use a meter of "
            f"{ceil(per_l * needs_s / WAIT_MAX_S)} pulses per litre or more"
        )
    most_hz = pulses_hz(work, work.full)
    if most_hz > PULSES_MAX_HZ:
        raise NoSafeLimit(
            f"{work.site.name}: the flow meter gives {_pulses(work)} and is too fine: that is "
            f"{most_hz:.0f} pulses a second, and the filter before the board's pin passes "
            f"{PULSES_MAX_HZ:.0f}; use a meter of {int(per_l * PULSES_MAX_HZ / most_hz)} pulses "
            "per litre or fewer"
        )
