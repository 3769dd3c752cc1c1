"""The steps of a capacity test, with the numbers of this battery."""

from rillkeeper.inquiry.capacity.measure import END_V
from rillsim.site import BatterySpec, Site

LAMP_V = 12.3
"""Mean of a discharge, for the watts of a lamp."""
BEST_H = 15.0
DRAW_SHARE = 0.4
"""Of the rating: enough to measure by, not enough to hurt."""


def steps(site: Site, file: str) -> list[tuple[str, tuple[str, ...]]]:
    """Three ways, each a heading and its steps; the kindest that tells enough comes first."""
    battery = site.battery
    by_rest = ("At home, between two rests", _between_rests(battery, file))
    to_end = ("At home, to the end", _to_the_end(battery, file))
    pump = ("With the pump itself", _by_pump(file))
    if battery.chemistry == "lfp":
        return [to_end]
    return [by_rest, to_end, pump]


CAUTION = (
    "Charge and test where the air moves, with no flame near and goggles on; the fuse stays at "
    "the post; the lamp gets hot: stand it on stone or tile, and stay in the house."
)


def _lamp(battery: BatterySpec) -> str:
    watts = battery.capacity_ah / BEST_H * LAMP_V
    return (
        f"a 12 V lamp, or several side by side, of about {_round(watts)} W in all, behind a fuse "
        "at the post"
    )


def _between_rests(battery: BatterySpec, file: str) -> tuple[str, ...]:
    drawn_ah = DRAW_SHARE * battery.capacity_ah
    hours = drawn_ah / (battery.capacity_ah / BEST_H)
    return (
        "Charge it until the charger says that it is full; take that off; leave it overnight.",
        "In the morning read the volts at the posts, two decimals: the first number.",
        f"Hang on {_lamp(battery)}. Read the amperes, and look at the clock.",
        f"After about {hours:.0f} h take the lamp off; sooner if the battery is below "
        f"{END_V[battery.chemistry] + 1.0:.1f} V. Read the amperes just before; note the hours.",
        "Leave it overnight again, then read the volts: the second number. Charge it at once.",
        f'rillkeeper capacity {file} --load "5.2 A" --lasted "6 h" --rested "12.64 V" "12.31 V"',
    )


def _to_the_end(battery: BatterySpec, file: str) -> tuple[str, ...]:
    end_v = END_V[battery.chemistry]
    by = "or its own protection cuts it off" if battery.chemistry == "lfp" else "not further"
    return (
        "Charge it until the charger says that it is full; take the charger off.",
        f"Hang on {_lamp(battery)}. Read the amperes, and look at the clock.",
        f"Stay near: when the posts are at {end_v:.1f} V under the lamp, {by}, take it off and "
        "note the hours. It takes "
        f"about {BEST_H:.0f} h with a new battery, less with a used one; a battery that is left "
        "on the lamp is ruined.",
        "Charge it at once: an empty battery ages by the hour. Once a year is enough.",
        f'rillkeeper capacity {file} --load "5.2 A" --lasted "9.5 h" --warmth "18 C"',
    )


def _by_pump(file: str) -> tuple[str, ...]:
    return (
        "Charge it full and water three nights or more on that charge, as always.",
        "Read the log: rillkeeper log",
        f"rillkeeper capacity {file} --nights",
    )


def _round(watts: float) -> int:
    """To five watts, as lamps are sold."""
    return max(5, 5 * round(watts / 5.0))
