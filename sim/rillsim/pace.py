"""How long the next step may be: a tick when things change fast, seconds when they do not."""

from rillsim.stepper import TICK_S, State, Stepper

STEP_TICKS_MAX = 100
GLIDE_TICKS = 1500
"""A step of a run that is calm (glide.py)."""
ERROR_MAX = 4e-3
"""Relative error of a step that is tried again with a shorter one."""
ERROR_CALM = 5e-4
"""Below this the next step is twice as long."""
GLIDE_ERROR_MAX, GLIDE_ERROR_CALM = 5e-3, 2e-3
"""The same two where a run is calm: what is left of the error is how far the battery goes down,
which is held within a step, some 25 mV."""
ERROR_SPLIT = 3e-2
"""Above this even one tick is taken in parts. The estimate is that of a first-order method;
the second-order step itself is better by far."""
SPLIT = 8
EASE = 2.0
"""So much more error is borne by a fast replay where the hose comes to rest behind a stopped pump:
its pressure is then still right to less than the converter's step, some 300 Pa (nine sites)."""


class Pace:
    """Chooses the steps of a moving plant by their error."""

    def __init__(self, stepper: Stepper) -> None:
        self._stepper = stepper
        self._ticks = 1
        self.eases = False
        """Whether more error is borne while the pump stands."""
        self.extra_as = 0.0
        """Inrush charge that the next step takes from the battery."""

    def begin(self) -> None:
        """Something has changed: start again with short steps."""
        self._ticks = 1

    def advance(self, start: State, room: int, one_tick: bool, gliding: bool = False) -> State:
        """The end of the next step, at most ``room`` ticks away; ``gliding``: in a calm run."""
        most = GLIDE_TICKS if gliding else STEP_TICKS_MAX
        ease = self._ease()
        error_max = GLIDE_ERROR_MAX if gliding else ERROR_MAX * ease
        ticks = 1 if one_tick else min(self._ticks, room, most)
        while True:
            end, error = self._try(start, ticks)
            if error <= error_max or ticks == 1:
                break
            ticks = self._ticks = max(ticks // (2 if gliding else 4), 1)
        if error > ERROR_SPLIT * ease:
            end = self._in_parts(start, ticks)
        self.extra_as = 0.0
        if gliding:
            # A step that was cut short by what comes says nothing against longer ones.
            if ticks == self._ticks and error < GLIDE_ERROR_CALM:
                self._ticks = min(2 * ticks, most)
        else:
            self._ticks = min(2 * ticks, most) if error < ERROR_CALM * ease else ticks
        return end

    def shorten(self) -> None:
        """What comes is not as calm as it seemed: steps of the usual length at the most."""
        self._ticks = min(self._ticks, STEP_TICKS_MAX // 10)

    def up_to(self, start: State, ticks: int) -> State:
        """The state a given number of ticks later: a step that was cut short."""
        end, error = self._try(start, ticks)
        ease = self._ease()
        if error > ERROR_SPLIT * ease or (error > ERROR_MAX * ease and ticks > 1):
            end = self._in_parts(start, ticks)
        self.extra_as = 0.0
        return end

    def _ease(self) -> float:
        return EASE if self.eases and not self._stepper.circuit.closed else 1.0

    def _try(self, start: State, ticks: float) -> tuple[State, float]:
        return self._stepper.step(start, ticks, self.extra_as / (ticks * TICK_S))

    def _in_parts(self, start: State, ticks: int) -> State:
        extra_a = self.extra_as / (ticks * TICK_S)
        state = start
        for _ in range(SPLIT):
            state, _ = self._stepper.step(state, ticks / SPLIT, extra_a, damped=True)
        state.n = start.n + ticks
        return state
