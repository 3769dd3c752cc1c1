"""One night of a site on the quick board, and beside the log what the plant knows of it.

What befell pump and battery is read from the plant, tick by tick, while the board drives the
pump: the board's own readings have no part in it.
"""

from dataclasses import asdict, dataclass, replace

from keeper import Settings, lines
from keeper.cycle import STATES
from keeper.records import FIRST
from keeper.rules import RELAY_CLOSED, RULES
from keeper.standstill import KINDS
from rillkeeper.design.limits.working_site import depth_of
from rillsim.boards.board import Board
from rillsim.plant import Plant
from rillsim.replay import NOON_S, start_day_of
from rillsim.site import BatteryTrip, FaultSpec, SetSpec, Site
from rillsim.timeline import TICKS_PER_S
from tests.scenarios.events import event_of

FIRST_SET = SetSpec(amount=10.0, runs=2, soak_s=180)
SECOND_SET = replace(FIRST_SET, start_s=FIRST_SET.start_s + 75 * 60, amount=4.0, runs=1, soak_s=0)
"""What a fault leaves behind shows in the next set: slow ones are full-grown by then."""
FROM_HOME = BatteryTrip(1, away_from_s=6 * 3600, back_at_s=7 * 3600)
"""In the morning the battery comes back full, with a sound fuse: the board may then speak."""
END_S = 19 * 3600 + 600
"""The night ends ten minutes after that, counted from noon."""
BY_KIND = f"trip {RULES[RELAY_CLOSED][0]}"
"""The one trip whose value says where to look: how the pump came to work."""
SOC_TICKS = 20
"""The charge is looked at so often."""
FOLLOWS_S = 2.0
"""Relay and hold of the welded contact: so long what the pump does is still the board's doing."""


@dataclass
class Toll:
    """What the pump and the battery went through while the board drove the pump."""

    on_s: float = 0.0
    dry_s: float = 0.0
    """Pump turning on air, and the suction line not filling."""
    over_s: float = 0.0
    """Outlet above the rating."""
    peak_share: float = 0.0
    """Highest mean pressure of the hose over the rating."""
    wave_share: float = 0.0
    """The same with the wave of a tap that snaps shut."""
    heat_s: float = 0.0
    """Excess of the winding's heat: of (I/Imax)^2 - 1 over the time that it is above nought."""
    weak_s: float = 0.0
    """Board's terminals below what the pump's sheet asks for."""
    drained_ah: float = 0.0
    """Taken from a battery that is already below the depth that its kind stands."""
    astray_s: float = 0.0
    """Pump driven in a state in which it must stand."""
    after_s: float = 0.0
    """Pump at work although the board has told the relay to open: welded."""


@dataclass(frozen=True)
class Told:
    """What came of a night."""

    states: tuple[tuple[float, str], ...]
    """Each state of the board with its beginning, in seconds from the first set's time."""
    said: tuple[str, ...]
    """Trips, warnings and skips, in the words of a scenario, from the fault on."""
    felt: bool
    """Whether the plant showed a sign of that fault, or of one after it in the list."""
    first_s: float | None
    """From the fault to the first of those words."""
    toll: Toll
    """From the fault on."""
    log: tuple[str, ...] = ()

    def as_row(self) -> dict[str, object]:
        """For the results: all but the log."""
        toll = {key: round(value, 3) for key, value in asdict(self.toll).items() if value}
        return {"said": self.said, "felt": self.felt, "first_s": self.first_s, "toll": toll}


def short_night(site: Site) -> Site:
    """A site with two short sets on a dry night; both channels that most rules want are fitted.

    What is drawn leaves a channel out now and then, and says that it is then unprotected.
    """
    return replace(
        site,
        board=replace(site.board, pressure_fitted=True, battery_fitted=True),
        sets=(FIRST_SET, SECOND_SET),
        weather=replace(site.weather, rain_chance=0.0),
        faults=(),
        battery_trips=(FROM_HOME,),
    )


def run_night(
    site: Site,
    settings: dict[str, int],
    seed: int,
    faults: tuple[FaultSpec, ...] = (),
    since: int = -1,
) -> Told:
    """From noon to the next morning, with these faults; what is told begins with one of them."""
    return _Night(replace(site, faults=faults), settings, seed, since).go()


class _Night:
    """A night under way."""

    def __init__(self, site: Site, settings: dict[str, int], seed: int, since: int) -> None:
        self.site = site
        self.since = since
        self.plant = Plant(site, seed, start_s=NOON_S, start_day=start_day_of(site))
        self.board = Board(Settings(settings))
        timeline = self.plant.timeline
        self.first_n = timeline.night_n(1)
        self.fault_n = timeline.courses[since].start_n if timeline.courses else 0
        self.floor_soc = 1.0 - depth_of(site.battery)
        self.states: list[tuple[float, str]] = []
        self.toll = Toll()
        self._last_n = 0
        self._filled_m3 = 0.0
        self._low = False
        self._driven_n = 0

    def go(self) -> Told:
        """The loop of a replay, without the garden."""
        plant, board = self.plant, self.board
        end, fault_n = END_S * TICKS_PER_S, self.fault_n
        n = level = said = read = 0
        said_n: int | None = None
        begun = powered = False
        while n < end:
            counts = plant.read(n)
            if not begun and n >= fault_n:
                begun, said, self.toll, self._last_n = True, len(board.log), Toll(), n
            if plant.board_powered:
                if not powered and n:
                    board.power_back()
                level = board.step(n, plant.clock.reading(n), counts)
                plant.drive(n, level)
                powered = True
            else:
                powered, level = False, 0
            self._note(n, level, powered)
            if begun and said_n is None and len(board.log) > read:
                said_n = n if any(map(_event, board.log[max(said, read) :])) else None
                read = len(board.log)
            if level:
                n += 1
                continue
            wake = n + board.nap_ticks() if powered else end
            n = max(n + 1, min(wake, plant.next_event_tick(), end))
        return Told(
            states=tuple(self.states),
            said=tuple(event for line in board.log[said:] if (event := _event(line))),
            felt=any(felt_n is not None for _, felt_n in plant.felt[self.since :]),
            first_s=None if said_n is None else (said_n - fault_n) / TICKS_PER_S,
            toll=self.toll,
            log=tuple(board.log),
        )

    def _note(self, n: int, level: int, powered: bool) -> None:
        """Read off the plant what the pump goes through."""
        state = STATES[self.board.keeper.state] if powered else "dark"
        if not self.states or self.states[-1][1] != state:
            self.states.append(((n - self.first_n) / TICKS_PER_S, state))
        rig = self.plant.rig
        dt_s = (n - self._last_n) / TICKS_PER_S
        self._last_n = n
        if level == self.plant.whole:
            self._driven_n = n
        if not rig.circuit.closed:
            return
        now, toll = self.plant.present, self.toll
        if n - self._driven_n > FOLLOWS_S * TICKS_PER_S:
            toll.after_s += dt_s
            return
        toll.on_s += dt_s
        if level == self.plant.whole and state not in ("prime", "run"):
            toll.astray_s += dt_s
        if rig.circuit.dry and now.point.speed_rad_s > 0.0 and now.filled_m3 <= self._filled_m3:
            toll.dry_s += dt_s
        self._filled_m3 = now.filled_m3
        share = now.pressure_pa / self.site.pump.max_pressure_pa
        toll.peak_share = max(toll.peak_share, share)
        wave = self.plant.wave_pa(n) / self.site.pump.max_pressure_pa
        toll.wave_share = max(toll.wave_share, share + wave)
        if share > 1.0:
            toll.over_s += dt_s
        current_a = now.point.current_a
        toll.heat_s += max((current_a / self.site.pump.max_current_a) ** 2 - 1.0, 0.0) * dt_s
        if now.board_v < self.site.pump.minimum_v:
            toll.weak_s += dt_s
        if n % SOC_TICKS == 0:
            battery = rig.stepper.battery
            battery.restore(now.battery)
            self._low = battery.soc < self.floor_soc
        if self._low:
            toll.drained_ah += current_a * dt_s / 3600.0


def _event(line: str) -> str:
    row = lines.parse_line(line)
    event = event_of(row)
    return f"{event}: {KINDS[row[FIRST + 1]]}" if event == BY_KIND else event
