"""A night on the site as it is drawn, with a fault of the catalogue: what the board reads and
says, beside what really is."""

from bisect import bisect_right
from dataclasses import replace
from typing import Any

from keeper import Settings
from keeper.cycle import STATES
from keeper.quantities import QUANTITIES
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown, clock_text
from rillkeeper.errors import Mistake, RillkeeperError, SiteError
from rillkeeper.runlog import sentences
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import read_log
from rillkeeper.runlog.rule_text import STATE_WORDS
from rillkeeper.site.keys import FAULT
from rillkeeper.site.value import ValueProblem, read_value
from rillsim.boards.board import Board
from rillsim.faults.catalogue import CATALOGUE, find
from rillsim.replay import NOON_S, TICKS_PER_S, Week, replay
from rillsim.site import FaultSpec, Site
from rillsim.supply.battery import Battery
from rillsim.water.sprinkler import Sprinkler

SEED = 1
NO_FAULT = "none"
DAY_S = 86_400
_LOOK_TICKS = 10
"""Between two looks at what the board reads while it pumps; the truth is sampled no oftener."""
_PRESSURE, _BATTERY = QUANTITIES.index("pressure_pa"), QUANTITIES.index("battery_mv")
_LEFT_OUT = ("minute", "decay", "learned", "normal")
"""Records that say nothing to somebody who looks on."""
_ROUND = 3
LIMITS = {
    "dry_pa": "dry below",
    "dead_head_pa": "shut above",
    "rating_pa": "rated for",
    "floor_mv": "brown-out below",
    "cutout_mv": "flat below",
    "over_mv": "too high above",
}
"""Of the board's settings those that are drawn in, with their words."""


def faults() -> list[dict[str, object]]:
    """The catalogue, for the list to choose from."""
    return [
        {
            "name": fault.name,
            "sentence": fault.sentence,
            "severity": fault.severity_means,
            "both_ways": fault.both_ways,
        }
        for fault in CATALOGUE
    ]


def fault_of(name: object, minutes: object, severity: object) -> FaultSpec | None:
    """The fault that was chosen; None for a sound night. Raises SiteError, as for a site file."""
    if name == NO_FAULT:
        return None
    told = {"name": name, "offset": f"{minutes} min", "severity": severity}
    found: dict[str, Any] = {"night": 1}
    mistakes: list[Mistake] = []
    for key, value in told.items():
        row = FAULT.row(key)
        assert row is not None
        try:
            found[row.field] = read_value(row, value, "metric")
        except ValueProblem as problem:
            mistakes.append(problem.at(f"fault.{key}", value))
    if not mistakes and found["severity"] < 0.0 and not find(found["name"]).both_ways:
        mistakes.append(Mistake("fault.severity", str(severity), "has one direction", "0 to 1"))
    if mistakes:
        raise SiteError("the night", mistakes)
    return FaultSpec(**found)


def try_night(site: Site, fault: FaultSpec | None) -> dict[str, Any]:
    """Tonight, noon to noon, without the faults and trips of the site file.

    Raises NoSafeLimit where the board cannot be given limits for the site.
    """
    if not site.sets:
        raise RillkeeperError("this site has no set, so nothing would happen tonight")
    bare = replace(site, faults=(), battery_trips=())
    settings = settings_of(bare)
    kept = Settings(settings)
    board = Board(kept)
    looks = _Looks(board)
    done = replay(
        bare,
        settings,
        nights=1,
        seed=SEED,
        faults=(fault,) if fault else (),
        board=board,
        tap=looks.look,
    )
    shown = Shown(site.units)
    return {
        "frames": _frames(done, looks, shown),
        "told": _told(done, shown),
        "units": {name: shown.unit(name) for name in ("pressure", "voltage", "flow", "length")},
        "limits": limits_shown({key: getattr(kept, key) for key in LIMITS}, shown),
        "fault": _felt(done),
        "from": clock_text(site.sets[0].start_s),
    }


def limits_shown(settings: dict[str, int], shown: Shown) -> dict[str, list[dict[str, object]]]:
    """The board's limits of pressure and voltage, in the units that are shown."""
    found: dict[str, list[dict[str, object]]] = {"pressure": [], "volts": []}
    for key, words in LIMITS.items():
        at = settings[key]
        quantity = "pressure" if key.endswith("_pa") else "volts"
        value = shown.number(at, "pressure") if quantity == "pressure" else at / 1000.0
        found[quantity].append({"words": words, "at": round(value, _ROUND)})
    return found


class _Looks:
    """What the board reads and does, looked at now and then."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._state = -1
        self._next = 0
        self.ticks: list[int] = []
        self.rows: list[tuple[int, int, int, int]] = []
        """State, relay, pressure [Pa] and battery [mV]."""

    def look(self, n: int, clock: tuple[int, int, bool], counts: list[int], level: int) -> None:
        """One control step."""
        keeper = self._board.keeper
        if keeper.state == self._state and n < self._next:
            return
        self._state, self._next = keeper.state, n + _LOOK_TICKS
        self.ticks.append(n)
        self.rows.append((keeper.state, level, keeper.q[_PRESSURE], keeper.q[_BATTERY]))


def _frames(done: Week, looks: _Looks, shown: Shown) -> list[dict[str, Any]]:
    """The night in pictures: at every time at which the truth was sampled."""
    sprinkler = Sprinkler(done.site.sprinkler)
    trace, full_ah = done.trace, Battery(done.site.battery).charge_ah
    frames = []
    for place, t_s in enumerate(trace.t_s):
        if t_s > DAY_S:
            break
        at = bisect_right(looks.ticks, round(float(t_s) * TICKS_PER_S)) - 1
        state, level, pressure_pa, battery_mv = looks.rows[max(at, 0)]
        flow = float(trace.flow_m3_s[place])
        throw_m = sprinkler.throw_m(sprinkler.pressure_pa(max(flow, 0.0)))
        frames.append(
            {
                "t": round(float(t_s), 1),
                "clock": clock_text(int(t_s + NOON_S) % DAY_S),
                "does": STATE_WORDS[STATES[state]],
                "relay": int(level > 0),
                "on": int(trace.on[place] > 0.0),
                "reads": [
                    round(shown.number(pressure_pa, "pressure"), _ROUND),
                    round(battery_mv / 1000.0, _ROUND),
                ],
                "is": [
                    round(shown.number(float(trace.pressure_pa[place]), "pressure"), _ROUND),
                    round(float(trace.battery_v[place]), _ROUND),
                ],
                "flow": round(shown.number(flow, "flow"), 2),
                "throw": round(throw_m, 2),
                "current": round(float(trace.current_a[place]), 2),
                "charge": round(float(trace.charge_ah[place]) / full_ah, 3),
            }
        )
    return frames


def _told(done: Week, shown: Shown) -> list[dict[str, Any]]:
    """What the board has written, in words."""
    noon_s = done.start_day * DAY_S + NOON_S
    fitted = Fitted.of(done.site.board)
    found = []
    for entry in read_log(list(done.log)).entries:
        t_s = entry.day * DAY_S + entry.second - noon_s
        if entry.kind in _LEFT_OUT or t_s >= DAY_S:
            continue
        told = sentences.tell(entry, shown, fitted)
        words = " ".join(part for part in (told.seen, told.did, told.look) if part)
        found.append(
            {
                "t": max(t_s, 0),
                "clock": clock_text(entry.second),
                "level": sentences.LEVELS[told.level],
                "words": words,
            }
        )
    return found


def _felt(done: Week) -> dict[str, Any] | None:
    """What was made to go wrong, and whether the plant showed it."""
    if not done.faults:
        return None
    one = done.faults[0]
    set_s = (done.site.sets[0].start_s - NOON_S) % DAY_S
    return {
        "sentence": one.sentence,
        "felt": one.felt,
        "at": set_s + one.spec.offset_s,
        "name": one.spec.name,
    }
