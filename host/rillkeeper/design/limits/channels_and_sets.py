"""What the board has to know about itself and about the sets: channels, times, sets."""

from math import ceil

from keeper import plan
from keeper.plausible import heat_of
from keeper.settings import SCHEMA, UNITS
from rillkeeper import units
from rillkeeper.design.limits.working_site import Limit, WorkingSite
from rillkeeper.display_units import counted, duration_text
from rillkeeper.errors import NoSafeLimit
from rillsim.boards import converter
from rillsim.site import SetSpec

DEEPEST_VACUUM_PA = 101325.0
"""Below the air's own pressure there is none (standard atmosphere)."""
OPEN_WIRE_COUNT = 60
"""A wire that is off reads less than this on any board (common practice, no source)."""
SETS_MAX = 3
LONGEST_S, DUTY_PERMILLE = (
    next(row[column] for row in SCHEMA if row[0] == key)
    for key, column in (("duty_s", 3), ("duty_permille", 4))
)
"""What the board allows a motor at the most, and how it takes it to cool."""
PRIME_ROOM_S = 60.0
"""On top of a rated run, which no rating knows to the minute: common practice, no source."""
CHANNELS = {
    "battery": "the battery channel",
    "pressure": "the pressure transducer",
    "load_sense": "the voltage sense behind the relay",
    "rain": "the rain contact",
    "button": "the push button",
    "frost": "the frost thermometer",
    "current": "the current channel",
    "second_relay": "the second relay",
    "flow": "the flow meter",
}


def channels(work: WorkingSite) -> list[Limit]:
    """What is fitted, and how its counts become units."""
    board, shown = work.site.board, work.shown
    fitted = [
        Limit(f"{name}_fitted", int(has), f"The site file says that {what} is {_fitted(has)}.")
        for name, what in CHANNELS.items()
        for has in (getattr(board, f"{name}_fitted"),)
    ]
    zero = round(converter.TRANSDUCER_ZERO * converter.STEPS)
    span = round(converter.TRANSDUCER_SPAN * converter.STEPS)
    vacuum = round(span * DEEPEST_VACUUM_PA / board.pressure_span_pa)
    band = min(max(zero - vacuum, OPEN_WIRE_COUNT), zero // 2)
    frost_zero = round(converter.FROST_ZERO_V / converter.REFERENCE_V * converter.STEPS)
    per_count = converter.REFERENCE_V / converter.STEPS / converter.FROST_V_PER_C
    full = shown.text(board.pressure_span_pa, "pressure")
    return [
        *fitted,
        Limit(
            "battery_full_mv",
            round(board.battery_full_v * 1e3),
            f"The board's divider fills the converter at {board.battery_full_v:.1f} V.",
        ),
        Limit(
            "pressure_zero_count",
            zero,
            "Without pressure the transducer gives a tenth of its supply.",
        ),
        Limit(
            "pressure_low_band_count",
            band,
            "Water that loses its pump pulls at the transducer, but no deeper than a vacuum; "
            "only a wire that is off reads less.",
        ),
        Limit(
            "pressure_span_count",
            span,
            "From no pressure to full scale the transducer adds eight tenths of its supply.",
        ),
        Limit(
            "pressure_span_kpa",
            round(board.pressure_span_pa / 1e3),
            f"The transducer's full scale is {full}.",
        ),
        Limit("frost_zero_count", frost_zero, "The thermometer gives 500 mV at 0 C (32 F)."),
        Limit(
            "frost_mc_per_count",
            round(per_count * 1e3),
            "The thermometer gives 10 mV for each degree C (1.8 F).",
        ),
        Limit(
            "current_full_ma",
            round(board.current_span_a * 1e3),
            f"The current channel ends at {board.current_span_a:.0f} A, where there is one.",
        ),
    ]


def times(work: WorkingSite) -> list[Limit]:
    """How long and how often the pump may run."""
    sets = work.site.sets
    longest_s = max(work.pumping_s(entry) / entry.runs for entry in sets)
    total_s = work.night_s()
    starts = sum(entry.runs for entry in sets)
    if longest_s > LONGEST_S:
        raise NoSafeLimit(
            f"{work.site.name}: a run of {duration_text(longest_s)}, and the relay stays closed "
            f"for {duration_text(LONGEST_S)} at the most; give the set in more runs"
        )
    duty_s, permille, rating = _duty(work, total_s)
    heat_s = _heat_s(work, permille)
    if heat_s > duty_s:
        raise NoSafeLimit(
            f"{work.site.name}: the sets ask the motor for {duration_text(heat_s)} of pumping "
            f"that it has not cooled from, and the most is {duration_text(duty_s)}; water less a "
            "night, in shorter runs, lengthen the soaks, or use a larger nozzle or pump"
        )
    run_max_s = min(LONGEST_S, max(600, round(1.5 * longest_s + 600.0)))
    return [
        Limit(
            "run_max_s",
            run_max_s,
            f"The longest run takes {duration_text(longest_s)}; one that goes on for "
            f"{duration_text(run_max_s)} has gone wrong.",
        ),
        Limit(
            "starts_max",
            min(60, starts + 4),
            f"The runs of a night are {starts}, and up to four starts may have to be tried again.",
        ),
        Limit(
            "duty_s",
            duty_s,
            f"A night's pumping takes {duration_text(total_s)}; {rating}",
        ),
        Limit(
            "duty_permille",
            permille,
            "At this share of the time, in thousandths, the motor is taken to run for ever"
            + (", as its sheet rates it." if work.site.pump.duty == "intermittent" else "."),
        ),
    ]


def _duty(work: WorkingSite, total_s: float) -> tuple[int, int, str]:
    """Most pumping without cooling [s], share of the time for ever [permille], and why."""
    pump = work.site.pump
    if pump.duty == "intermittent":
        turn_s = pump.duty_on_s + pump.duty_off_s
        rating = (
            f"the pump is rated for {duration_text(pump.duty_on_s)} on and "
            f"{duration_text(pump.duty_off_s)} off, and what it primes for comes on top."
        )
        prime_s = min(PRIME_ROOM_S, work.prime_allowance_s())
        return round(pump.duty_on_s + prime_s), max(1, int(1000 * pump.duty_on_s / turn_s)), rating
    if pump.duty == "continuous":
        rating = (
            "the pump is rated for continuous duty, and this is the most that the board knows."
        )
        return LONGEST_S, DUTY_PERMILLE, rating
    duty_s = min(LONGEST_S, max(7200, round(1.25 * total_s)))
    rating = (
        f"no duty rating of the pump is given: {duration_text(duty_s)} is what the sets ask, with "
        "room, not what its motor bears."
    )
    return duty_s, DUTY_PERMILLE, rating


def _heat_s(work: WorkingSite, permille: int) -> int:
    """The most pumping that the motor has not cooled from, as the board reckons it."""
    night = [
        (
            f"set{number}_",
            plan.since_noon_s(entry.start_s),
            entry.runs,
            ceil(work.pumping_s(entry) / entry.runs),
            entry.soak_s,
        )
        for number, entry in enumerate(work.site.sets, start=1)
    ]
    return heat_of(night, permille)


def sets(work: WorkingSite) -> list[Limit]:
    """The sets, as the board keeps them."""
    site = work.site
    if len(site.sets) > SETS_MAX:
        raise NoSafeLimit(
            f"{site.name}: {len(site.sets)} sets; the board keeps {SETS_MAX}, so join some of them"
        )
    limits = []
    for number, entry in enumerate(site.sets, start=1):
        values = {
            "unit": (UNITS.index(entry.unit), f"Set {number} is given by {entry.unit}."),
            "start_s": (
                entry.start_s,
                f"Set {number} starts at {units.format_clock(entry.start_s)}.",
            ),
            "amount": (_amount(entry), f"Set {number} gives {_given(entry, site.units)}."),
            "runs": (entry.runs, f"Set {number} comes in {counted(entry.runs, 'run')}."),
            "soak_s": (
                entry.soak_s,
                f"Between the runs of set {number} the ground takes the water in for "
                f"{duration_text(entry.soak_s)}."
                if entry.soak_s
                else f"Set {number} has no pause.",
            ),
            "window_s": (
                entry.window_s,
                f"If it was missed, set {number} may still start "
                f"{duration_text(entry.window_s)} after its time.",
            ),
        }
        limits += [Limit(f"set{number}_{key}", *value) for key, value in values.items()]
    return limits


def _fitted(has: bool) -> str:
    return "fitted" if has else "not fitted"


def _given(entry: SetSpec, system: str) -> str:
    """The amount as its owner reads it."""
    if entry.unit == "minutes":
        return f"{entry.amount:g} min of water"
    dimension = "water depth" if entry.unit == "depth" else "volume"
    return units.format(entry.amount * 1e-3, dimension, system, 3)


def _amount(entry: SetSpec) -> int:
    """Minutes, tenths of a millimetre, or litres."""
    return round(entry.amount * 10.0 if entry.unit == "depth" else entry.amount)
