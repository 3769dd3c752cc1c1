"""Passes steady minutes of a run, and quiet hours, in one go: the fast replay.

Plant and board must both agree. The plant takes one long step and is still calm at its end: no
fault begins, grows or makes a contact restless, and source, fuse and motor are far from giving
up. The board's quantities are far from every limit at both ends (boards/stride.py): then
the next step follows at once. Otherwise the plant goes back and the run is stepped ten times a
second, as without. At rest the board is left alone for as long as nothing can come of a look.

What is passed is gone in closed form, noise apart, with the pulses of a flow meter as the plant
gives them; every start and stop, the learning and each minute's record are the board's own steps.
``make campaign``'s part "glides" holds nights so replayed to the same nights stepped through,
sound ones and those of every fault.
"""

from rillsim.boards.board import TICK_MS
from rillsim.boards.calm import Readings
from rillsim.boards.sensors import BATTERY, CURRENT, PRESSURE
from rillsim.boards.stride import LEAST_TICKS, LOOK_MS, StridingBoard
from rillsim.plant import Plant
from rillsim.track import Span

MOST_TICKS = 6000
"""So long at most a run is passed before plot and garden are looked at."""
AGAIN_TICKS = 100
"""So long after a refusal it is tried again."""
NIGHT_TICKS = 12 * 36000
"""A slow fault that comes so soon is judged by the pressure that a run learns now."""
TAIL_TICKS = 2
"""The last ticks of what is passed are the board's own: from their end on it may be passed again,
where a plant of which a tick is asked beyond its step would take one of its own length."""
WATCHED_TICKS = 9000
"""So long after something has happened to a plant at rest a board looks as often as it does."""


class GlidingPlant(Plant):
    """A plant that takes a long step where it is calm."""

    def ease(self) -> None:
        """Go over the hose's coming to rest in few steps."""
        self._track.pace.eases = True

    def glide(self, n: int, ticks: int) -> Span | None:
        """One long step from tick ``n``, where the present one ends; None where it is not calm."""
        track, sunk_m = self._track, self.rig.fallen_m
        if track.end.n != n or not self._is_calm():
            return None
        self._segment(ticks)
        if self._is_calm() and not self.rig.near_trouble(track.end, sunk_m, self._air_at(n)):
            self._span = track.span_at(n + 1)
            return self._span
        self.stop_gliding(n)
        return None

    def _span_at(self, n: int) -> Span:
        return self._track.rest_at(n) if self._track.idle else super()._span_at(n)

    def pulses_at(self, n: int) -> int:
        """All pulses of a flow meter until a tick of the long step; 0 where none is fitted."""
        return 0 if self._meter is None else self._meter.at(self._track.metered_m3(n))

    def stop_gliding(self, n: int) -> None:
        """Take back the long step from tick ``n``, to go short ones."""
        self._halt(n)
        self._track.pace.shorten()

    def _is_calm(self) -> bool:
        works = self.pump_wired and not self.motor_hot and not self._restless()
        return works and self.sound_at(self._track.end.n)

    def quiet_ticks(self, n: int) -> int:
        """How long from tick ``n`` on nothing is planned to happen."""
        return (self._event_n if self._event_n > n else self.timeline.next_n(n)) - n

    def wakes_n(self, rests: bool) -> int:
        """First tick that may differ by more than a slow drift from the one before it, as ever,
        or where the board ``rests`` the one after the next planned event."""
        return self._event_n + 1 if rests else self.next_event_tick()

    def sound_at(self, n: int) -> bool:
        """Whether the board's side is whole at tick ``n``, and no fault grows."""
        return self._conditions.board_is_sound and not self.timeline.growing(n)


class Glide:
    """One plant and one board, and when it is worth trying next."""

    def __init__(self, plant: GlidingPlant, board: StridingBoard) -> None:
        self._plant = plant
        self._board = board
        self.next_n = 0
        self._watched_n = 0
        plant.ease()

    def run_on(self, n: int) -> int:
        """The last tick that is passed from ``n`` on, a tick that both have gone; ``n``: none."""
        plant = self._plant
        self._board.learns_itself = plant.timeline.grows_within(n, n + NIGHT_TICKS)
        end_n = plant.next_event_tick() - 1
        if end_n > n:
            self.next_n = end_n
            return n
        last_n = n + MOST_TICKS
        while passed := self._pass_step(n, last_n - n):
            n += passed
            if n < self.next_n:
                break
        return n

    def _pass_step(self, n: int, most: int) -> int:
        """How many ticks are passed with one step of the plant from ``n`` on, at most so many."""
        plant, board = self._plant, self._board
        ticks = min(board.stride_ticks(), most, plant.quiet_ticks(n))
        if ticks < LEAST_TICKS:
            self.next_n = n + LEAST_TICKS
            return 0
        span = plant.glide(n, ticks)
        if span is None:
            self.next_n = n + AGAIN_TICKS
            return 0
        self.next_n = n + span[1]
        if span[1] < LEAST_TICKS:
            return 0
        passed = span[1] if span[1] < ticks else ticks - TAIL_TICKS
        start, end = self._readings(span, n), self._readings(span, n + passed)
        clock, pulses = plant.clock.reading, plant.pulses_at
        if board.stride(passed, lambda t: clock(n + t), start, end, lambda t: pulses(n + t)):
            return passed
        plant.stop_gliding(n)
        self.next_n = n + AGAIN_TICKS
        return 0

    def nap_ticks(self, n: int) -> int:
        """How many ticks the board may be left alone at rest. Before and after a fault or a trip
        of the battery it looks when it would by itself."""
        plant, board = self._plant, self._board
        stirs_n = plant.timeline.next_stir_n(n - 1)
        if stirs_n - n < LOOK_MS // TICK_MS:
            self._watched_n = stirs_n + WATCHED_TICKS
        sound = plant.sound_at(n) and not plant.pump_wired
        if sound and n >= self._watched_n:
            nap_ms = board.long_nap_ms()
            if nap_ms > LOOK_MS and n + nap_ms // TICK_MS > stirs_n:
                nap_ms = (stirs_n - n) * TICK_MS // LOOK_MS * LOOK_MS
            if nap_ms:
                board.nap(nap_ms)
        return min(board.nap_ticks(), plant.wakes_n(sound) - n)

    def _readings(self, span: Span, n: int) -> Readings:
        first, _, pressure_pa, slope_pa, board_v, slope_v, current_a, slope_a = span
        after = n - first
        settled = self._plant.sensors.settled
        return Readings(
            settled(BATTERY, board_v + after * slope_v),
            settled(PRESSURE, pressure_pa + after * slope_pa),
            settled(CURRENT, current_a + after * slope_a),
        )
