"""Where the volts go, from the battery to the motor, loaded beside idle.

It teaches the trap of the trade: a meter on an idle cable reads the full voltage, however thin
the cable is, because what carries no current loses nothing.
"""

from dataclasses import dataclass

from rillkeeper.design.limits.working_site import WorkingSite


@dataclass(frozen=True)
class VoltStep:
    """One step from the battery to the motor."""

    name: str
    drop_v: float
    """Lost here under load."""
    loaded_v: float
    """Left after it under load."""
    idle_v: float
    """Left after it with the pump off."""


@dataclass(frozen=True)
class Volts:
    """All steps at one current."""

    current_a: float
    rest_v: float
    """The battery after a long rest."""
    steps: tuple[VoltStep, ...]

    @property
    def posts_v(self) -> float:
        """At the battery's posts under load [V]."""
        return self.steps[0].loaded_v

    @property
    def motor_v(self) -> float:
        """At the motor under load [V]."""
        return self.steps[-1].loaded_v


BATTERY = "battery inside"
_WAY = ("clamps", "fuse", "cable out", "relay contact", "cable back")


def volts_of(work: WorkingSite) -> Volts:
    """The staircase with a battery half used, five seconds after the start."""
    point = work.middle.point
    rest_v = work.battery(1.0 - work.discharge / 2.0).rest_v
    drops_v = {BATTERY: rest_v - point.battery_v}
    lost_v = work.wires.drops_v(point.current_a)
    drops_v.update({name: lost_v[name] for name in _WAY})
    steps, loaded_v = [], rest_v
    for name, drop_v in drops_v.items():
        loaded_v -= drop_v
        steps.append(VoltStep(name, drop_v, loaded_v, rest_v))
    return Volts(point.current_a, rest_v, tuple(steps))
