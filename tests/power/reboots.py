"""The power is lost at a tick of a half-hour run, and comes back to a site that is well or not.

``cuts`` runs the set once and cuts it at every tick, twice where that tick wrote to flash: with
the write lost and with it kept. Each time a board starts from what the flash then holds, and is
followed until its mind is made up: running again, or stopped for good.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from device import store
from device.watchdog import TIMEOUT_MS
from keeper.checked import Settings
from keeper.relay import RENEW_MS
from keeper.ticks import MASK
from tests.power.ramboard import (
    EVENING_S,
    SET_S,
    SETTINGS,
    TICK_MS,
    Dog,
    MemoryFlash,
    RamBoard,
    Site,
    new_flash,
    no_port,
)
from virtual import chips

AWAY_MS = 500
CHECK_TICKS = 20
RUNNING_TICKS = 10
FOLLOW_TICKS = 1500
AFTER_STEPS = 100
"""How long the end of a run is watched: in steps, a nap being one."""
TIMER_MS = 100
"""How often the renewal timer looks (device/output.py)."""
STOPPED = ("done", "flat", "lockout")

_LIMITS = Settings(SETTINGS)
_FILTER_MS = 1500
"""From the closing of the relay until the readings' filters show what there is."""


@dataclass(frozen=True)
class Fault:
    """What a site has come to, and what a board may do about it."""

    end: str
    """The state it must end in."""
    starts_max: int
    """How often it may close the relay to find out; what shows with the pump off allows none."""
    closed_ms_max: int = _LIMITS.run_max_s * 1000
    """How long at a time."""


FAULTS = {
    "none": Fault("run", 1),
    "dead head": Fault(
        "done", _LIMITS.dead_head_tries + 1, _FILTER_MS + _LIMITS.dead_head_hold_ms
    ),
    "dry run": Fault("lockout", _LIMITS.dry_tries + 1, _LIMITS.prime_ms + _FILTER_MS),
    "high pressure": Fault("lockout", 1, _FILTER_MS + _LIMITS.rating_hold_ms),
    "brown-out": Fault("done", 1, _FILTER_MS + _LIMITS.floor_hold_ms),
    "welded": Fault("lockout", 0),
    "bad sensor": Fault("done", 0),
}


@dataclass
class Cut:
    """One loss of power."""

    tick: int
    """Of the run, from the first with the relay closed."""
    written: bool
    """Whether what that tick wrote has reached the flash."""
    closed_ms: int
    """How long the relay had been closed until then."""
    starts: int
    at_ms: int
    """When the power is back."""
    files: dict[str, bytes]

    @property
    def remembered(self) -> str:
        """What the flash remembers."""
        text = store.TwoSlots(MemoryFlash(dict(self.files)), "memory").load()
        assert text is not None
        return text


@dataclass
class Course:
    """What a board did after its start."""

    state: str = ""
    spells_ms: list[int] = field(default_factory=list)
    """Each time the relay was closed, and how long."""
    open_ticks: int = 0
    """How many ticks it stayed open at first."""


def cuts(every: int = 1, fault: str = "none", fault_tick: int = 0) -> Iterator[Cut]:
    """Run the set, and cut it at every so many ticks from the one on in which the fault begins.

    At each of them the loop is also made to hang, which ``hang`` judges.
    """
    ram = RamBoard(new_flash(), EVENING_S * 1000 - 2000, Site())
    tick = closed_ms = starts = was = quiet = 0
    while quiet < AFTER_STEPS:
        ram.site.fault = fault if tick >= fault_tick else "none"
        closed = ram.tick()
        starts += 1 if closed and not was else 0
        was = closed
        closed_ms += TICK_MS if closed else 0
        tick += 1 if starts else 0
        quiet = quiet + 1 if starts and not closed else 0
        wanted = tick > fault_tick and tick % every == 0
        if wanted and closed:
            hang(ram)
        before = dict(ram.files)
        ram.settle()
        if wanted:
            kept = chips.LINK.relay, chips.LINK.now_ms
            back_ms = ram.at_ms + AWAY_MS
            if before != ram.files:
                yield Cut(tick, False, closed_ms, starts, back_ms, before)
            yield Cut(tick, True, closed_ms, starts, back_ms, dict(ram.files))
            chips.LINK.relay, chips.LINK.now_ms = kept


def hang(ram: RamBoard) -> None:
    """The loop stops here. The timer opens the relay; without it the watchdog does: it was fed
    in this very tick, so that it resets the board TIMEOUT_MS after it."""
    link, relay = chips.LINK, ram.relay
    kept = link.now_ms, relay._wish, relay._inverse
    assert Dog.fed_ms == link.now_ms
    assert Dog.timeout_ms == TIMEOUT_MS
    waited_ms = 0
    while link.relay:
        waited_ms += TIMER_MS
        link.now_ms = (kept[0] + waited_ms) & MASK
        relay._expire(None)
    assert RENEW_MS < waited_ms <= RENEW_MS + TIMER_MS
    link.now_ms, relay._wish, relay._inverse = kept
    link.relay = 1


def follow(cut: Cut, fault: str, to_the_end: bool = False) -> Course:
    """Start a board from a cut and see what it does."""
    ram = RamBoard(dict(cut.files), cut.at_ms, Site(fault))
    course = Course()
    closed = running = 0
    for number in range(SET_S * 20 if to_the_end else FOLLOW_TICKS):
        level = ram.tick()
        ram.settle()
        if level and not closed:
            course.spells_ms.append(0)
        if level:
            course.spells_ms[-1] += TICK_MS
        elif not course.spells_ms:
            course.open_ticks = number + 1
        closed = level
        course.state = ram.state
        running = running + 1 if course.state == "run" else 0
        made_up = course.state in ("done", "flat", "lockout")
        made_up = made_up or (course.state == "idle" and number > CHECK_TICKS)
        if made_up or (fault == "none" and running > RUNNING_TICKS and not to_the_end):
            break
    return course


def wrong(cut: Cut, fault: str, course: Course) -> str:
    """What is wrong with a course; empty where nothing is."""
    allowed = FAULTS[fault]
    spells_ms = course.spells_ms
    facts = dict(line.split(" ", 1) for line in cut.remembered.split("\n"))
    if facts["state"] in STOPPED:
        still = course.state == facts["state"]
        return "" if still and not spells_ms else f"it had stopped, and is in {course.state}"
    given_s = int(facts.get("given_s", "0 0").split(" ")[1])
    # Where the whole set has been given, nothing starts and nothing need be found.
    if course.state != allowed.end and not (course.state == "idle" and given_s >= SET_S - 61):
        return f"it ended in {course.state}, not {allowed.end}"
    if len(spells_ms) > allowed.starts_max:
        return f"it started {len(spells_ms)} times"
    if spells_ms and course.open_ticks < CHECK_TICKS:
        return f"it closed after {course.open_ticks} ticks"
    if max(spells_ms, default=0) > allowed.closed_ms_max:
        return f"it pumped into it for {max(spells_ms)} ms"
    to_come_ms = (SET_S - given_s) * 1000 + _LIMITS.prime_ms
    if fault == "none" and cut.closed_ms + to_come_ms > _LIMITS.run_max_s * 1000:
        return f"{cut.closed_ms} ms before and {to_come_ms} ms to come"
    return ""


def sweep(fault: str, every: int = 1) -> tuple[int, list[str]]:
    """Cut a healthy set at every tick and come back to a fault: (cuts, what was wrong)."""
    return _judge(fault, cuts(every))


def sweep_fault(fault: str, fault_tick: int, every: int = 1) -> tuple[int, list[str]]:
    """The fault begins in the run; cut at every tick from then on, before and after it trips."""
    return _judge(fault, cuts(every, fault, fault_tick))


def _judge(fault: str, all_cuts: Iterator[Cut]) -> tuple[int, list[str]]:
    tried = 0
    found: list[str] = []
    with no_port():
        for cut in all_cuts:
            tried += 1
            what = wrong(cut, fault, follow(cut, fault))
            if what:
                found.append(f"{fault}, cut at tick {cut.tick}, written {cut.written}: {what}")
    return tried, found


def totals_ms(every: int = 1, memories: int = 1) -> list[int]:
    """How long the relay is closed for the set in all, each followed to its end.

    One cut for every so many of the memories that the flash ever held: the last before it
    changes, so that the most is forgotten.
    """
    totals: list[int] = []
    last: Cut | None = None
    changes = 0
    with no_port():
        for cut in cuts(every):
            if last is not None and last.remembered != cut.remembered:
                changes += 1
                if changes % memories == 0:
                    course = follow(last, "none", to_the_end=True)
                    totals.append(last.closed_ms + sum(course.spells_ms))
            last = cut
    return totals


def starts_into(fault: str) -> tuple[int, str]:
    """Starts of a pump that locks out at each, and where the board ends.

    The power goes in the tick of the trip, before it is written, as often as there is a trip.
    """
    files = new_flash()
    at_ms = EVENING_S * 1000 - 2000
    starts = closed = 0
    with no_port():
        ram = RamBoard(files, at_ms, Site(fault))
        for _ in range(FOLLOW_TICKS):
            level = ram.tick()
            starts += 1 if level and not closed else 0
            tripped = closed and not level
            closed = level
            if tripped:
                ram = RamBoard(files, ram.at_ms + AWAY_MS, Site(fault))
                closed = 0
            else:
                ram.settle()
    return starts, ram.state


def starts_of_a_crash(closed_ticks: int) -> int:
    """How often the relay closes in a night when each start resets the board after so long."""
    files = new_flash()
    at_ms = EVENING_S * 1000 - 2000
    end_ms = at_ms + (_LIMITS.set1_window_s + 600) * 1000
    starts = 0
    with no_port():
        while at_ms < end_ms:
            ram = RamBoard(files, at_ms, Site())
            closed = 0
            while closed < closed_ticks and ram.at_ms < end_ms:
                level = ram.tick()
                starts += 1 if level and not closed else 0
                closed += level
                if closed < closed_ticks:
                    ram.settle()
            at_ms = ram.at_ms + AWAY_MS
    return starts
