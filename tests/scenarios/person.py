"""What people do in a story: read from its lines, and done to board and plant.

A deed is written "18:00@1 run 15": the time of day, the night that it belongs to (from noon to
noon, counted from 1), and what is done:

    run MINUTES, stop, clear, hold NIGHTS, battery MAH, relearn    asked for over the serial line
    set-clock                         to the right time
    try MINUTES, try 0                settings on trial, as a proof has them, and back
    button SECONDS                    pressed for so long
    restart                           the board starts again without a loss of power
    update                            the same, and its firmware was one with other rows
    fit NAME                          hose, nozzle or cable become those of [parts.NAME.*]
    apply limits                      of the site as it is now, by `settings` and `apply`
    battery home, battery back SHARE  it is carried away, and put on again charged so far

A person does nothing to a board that has no power, and changes nothing under a running pump.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from operator import itemgetter

from device.trial import HELD_OFF_MS
from keeper import Settings, hand
from rillkeeper import units
from rillsim.boards.board import Board
from rillsim.boards.boardclock import DAY_S
from rillsim.plant import Plant
from rillsim.replay import NIGHT_TICKS, NOON_S, TICKS_PER_S
from rillsim.site import BatteryTrip, Site

NEVER = 1 << 60

ASKED = ("run", "stop", "clear", "hold", "battery", "relearn")
"""Commands of the serial line that a Keeper takes itself."""

_MOMENT = re.compile(r"(\d\d):(\d\d)(?::(\d\d))?@(\d+)")
TRIAL_KEY = "dead_head_pa"
"""A proof lowers such a limit; by what does not matter to the night."""
_UNKNOWN = "leak_ml 17\ntries leaking_joint 2"
"""A fact and a rule that this firmware has not."""
_NEW = "told_night"
"""A fact that the firmware before this one had not yet."""


@dataclass(frozen=True)
class Deed:
    """One line of ``person``."""

    n: int
    """The tick at which it is done."""
    what: str
    value: float = 0.0
    site: Site | None = None
    """As it is from then on; for ``fit``."""
    settings: tuple[tuple[str, int], ...] = ()
    """For ``apply``."""


def tick_of(text: str) -> int:
    """Of a moment like 18:00@1. Raises ValueError for what is none."""
    found = _MOMENT.fullmatch(text)
    if not found:
        raise ValueError(f"{text!r} is not written like 18:00@1")
    hour, minute, second, night = [int(part or 0) for part in found.groups()]
    since_noon_s = (hour * 3600 + minute * 60 + second - NOON_S) % DAY_S
    return (night - 1) * NIGHT_TICKS + since_noon_s * TICKS_PER_S


def moment_of(n: int) -> str:
    """A tick, written like 18:00@1."""
    minute = (n // TICKS_PER_S + NOON_S) // 60
    return f"{minute // 60 % 24:02}:{minute % 60:02}@{n // NIGHT_TICKS + 1}"


def read_deeds(
    texts: list[str],
    site: Site,
    parts: dict[str, Callable[[Site], Site]],
    settings_of: Callable[[Site], dict[str, int]],
) -> tuple[tuple[Deed, ...], tuple[BatteryTrip, ...]]:
    """Deeds in order, and the trips of the battery. Raises ValueError for what means nothing."""
    deeds: list[Deed] = []
    trips: list[BatteryTrip] = []
    left_n: int | None = None
    lines = [text.partition(" ") for text in texts]
    for n, what in sorted(
        ((tick_of(moment), what) for moment, _, what in lines), key=itemgetter(0)
    ):
        name, _, rest = what.partition(" ")
        if what == "battery home":
            left_n = n
        elif what.startswith("battery back "):
            if left_n is None or n - left_n >= NIGHT_TICKS:
                raise ValueError(f"{what!r}: it has not left within the day before")
            share = units.parse(rest.partition(" ")[2], "share")
            trips.append(_trip(site, left_n, n, share))
            left_n = None
        elif name == "fit" and rest in parts:
            site = parts[rest](site)
            deeds.append(Deed(n, "fit", site=site))
        elif what == "apply limits":
            deeds.append(Deed(n, "apply", settings=tuple(settings_of(site).items())))
        elif name == "button":
            press_n = round(units.parse(rest, "time") * TICKS_PER_S)
            deeds += [Deed(n, "press"), Deed(n + press_n, "let go")]
        elif name in ASKED or what in ("set-clock", "restart", "update") or name == "try":
            deeds.append(Deed(n, name, float(rest or 0)))
        else:
            raise ValueError(f"{what!r} is nothing that a person does")
    if left_n is not None:
        raise ValueError("the battery is carried home and does not come back")
    return tuple(sorted(deeds, key=lambda deed: deed.n)), tuple(trips)


def _trip(site: Site, left_n: int, back_n: int, charged: float) -> BatteryTrip:
    """A trip home after the night whose first set was due last before it."""
    first_s = min(one.start_s for one in site.sets)
    left_s, back_s = [n // TICKS_PER_S + NOON_S for n in (left_n, back_n)]
    after_night = (left_s - first_s) // DAY_S + 1
    return BatteryTrip(after_night, left_s % DAY_S, back_s % DAY_S, charged)


class CannotBeDone(ValueError):
    """A deed that no person can do at that time: the story must be told otherwise."""


class Person:
    """Does the deeds to a quick board and its plant when their time has come."""

    def __init__(self, deeds: tuple[Deed, ...]) -> None:
        self._deeds = list(deeds)
        self._trial_end_n = NEVER

    @property
    def next_n(self) -> int:
        """The tick of what comes next."""
        return min(self._deeds[0].n if self._deeds else NEVER, self._trial_end_n)

    def act(self, n: int, board: Board, plant: Plant) -> None:
        """Do what is due at this tick, after the board's step."""
        board.clock_set = None
        if n >= self._trial_end_n:
            self._trial(n, board, 0)
        while self._deeds and self._deeds[0].n <= n:
            deed = self._deeds.pop(0)
            if deed.n < n:
                raise CannotBeDone(f"{deed.what} at tick {deed.n}: the board had no power")
            self._do(deed, board, plant)

    def _do(self, deed: Deed, board: Board, plant: Plant) -> None:
        if deed.what in ASKED:
            code = hand.COMMANDS.index(deed.what)
            if not board.keeper.command(code, int(deed.value)):
                raise CannotBeDone(f"{deed.what} at tick {deed.n}: busy")
        elif deed.what == "set-clock":
            day, second = divmod(round(plant.clock.true_s(deed.n)), DAY_S)
            board.clock_set = day, second
            board.keeper.command(hand.CLOCK, 0)
        elif deed.what in ("press", "let go"):
            plant.button = deed.what == "press"
        elif plant.rig.circuit.closed:
            raise CannotBeDone(f"{deed.what} at tick {deed.n}: the pump runs")
        elif deed.what == "fit":
            assert deed.site is not None
            plant.fit(deed.n, deed.site)
        elif deed.what == "apply":
            board.apply(Settings(dict(deed.settings)))
        elif deed.what == "try":
            self._trial(deed.n, board, round(60 * deed.value))
        else:
            if deed.what == "update" and board.kept is not None:
                board.kept = of_another_firmware(board.kept)
            board.power_back()

    def _trial(self, n: int, board: Board, seconds: int) -> None:
        """As device/board.py tries settings out and goes back to those that are kept."""
        values = dict(board.settings.values())
        over = n >= self._trial_end_n
        self._trial_end_n = n + seconds * TICKS_PER_S if seconds else NEVER
        if seconds:
            values[TRIAL_KEY] -= 1000
            board.keeper.hold_off(HELD_OFF_MS)
        elif not over:
            board.keeper.hold_off(0)
        board.apply(Settings(values), trial=True)


def of_another_firmware(text: str) -> str:
    """What a firmware with a rule and a fact more, and one fact less, would have remembered."""
    known = [line for line in text.split("\n") if line.split(" ")[0] != _NEW]
    return "\n".join([*known, _UNKNOWN])
