"""A blade fuse: how long it stands a current, and when it melts.

The element sits on its blades and in its holder. Both warm with the square of the current; the
element within about a second, what holds it within a minute. It melts when their sum reaches
the melting point::

    dF/dt = (x - F) / t_f        x = (I / I_m)^2,  I_m the current that just melts it for ever
    dS/dt = (x - S) / t_s
    melts at  w F + (1 - w) S = 1

A great current leaves no time for heat to flow away: then the time goes with 1 / I^2, and the
pre-arcing integral is t_f I_m^2 / w. Ambient temperature is left out. So is the inrush of the
motor, a few A2 s against more than a thousand of a 25 A fuse.

References
----------
.. [1] ISO 8820-3, Road vehicles - fuse-links with tabs (blade type): operating times, the same as
   those of SAE J1284 (from memory). The figures between the limits are our own choice.
"""

from math import exp

MELTS_AT = 1.2
"""Least current that melts it, over its rating: between the 110 % that it must carry and the
135 % at which it must open [1]_."""
ELEMENT_S = 1.4
HOLDER_S = 60.0
ELEMENT_SHARE = 0.7
_MELT_STEP_S = 0.01

Warmth = tuple[float, float]
"""Of element and holder, over the rise that melts the element at rest with the other."""

COLD: Warmth = (0.0, 0.0)


class Fuse:
    """One blade fuse of a rating; the state is kept by who asks."""

    def __init__(self, rating_a: float) -> None:
        if not rating_a > 0.0:
            raise ValueError(f"fuse rating is {rating_a:g} A; it must be over 0 A")
        self.rating_a = rating_a
        self._per_a2 = 1.0 / (MELTS_AT * rating_a) ** 2
        self._dt_s = -1.0
        self._keep = COLD

    def after(self, warmth: Warmth, mean_square_a2: float, dt_s: float) -> Warmth:
        """Warmth after some time at a mean square of the current, exact where it is steady.

        Examples
        --------
        >>> fuse = Fuse(25.0)
        >>> [fuse.melted(fuse.after(COLD, 50.0**2, dt_s)) for dt_s in (0.5, 2.0)]
        [False, True]
        """
        if dt_s != self._dt_s:
            self._dt_s = dt_s
            self._keep = exp(-dt_s / ELEMENT_S), exp(-dt_s / HOLDER_S)
        towards = mean_square_a2 * self._per_a2
        keep_element, keep_holder = self._keep
        return (
            towards + (warmth[0] - towards) * keep_element,
            towards + (warmth[1] - towards) * keep_holder,
        )

    def melted(self, warmth: Warmth) -> bool:
        """True where the element has reached its melting point."""
        return ELEMENT_SHARE * warmth[0] + (1.0 - ELEMENT_SHARE) * warmth[1] >= 1.0

    def melts_s(self, before_a: float, current_a: float) -> float:
        """How long it stands a current after it has long carried a lesser one [s]; inf: for ever.

        Examples
        --------
        >>> fuse = Fuse(25.0)
        >>> fuse.melts_s(0.0, 20.0), round(fuse.melts_s(12.0, 60.0), 2)
        (inf, 0.52)
        """
        if not self.overloaded(current_a):
            return float("inf")
        steady = before_a * before_a * self._per_a2
        warmth = (steady, steady)
        time_s = 0.0
        while not self.melted(warmth):
            warmth = self.after(warmth, current_a * current_a, _MELT_STEP_S)
            time_s += _MELT_STEP_S
        return time_s

    def overloaded(self, current_a: float) -> bool:
        """True for a current that melts it sooner or later."""
        return current_a * current_a * self._per_a2 >= 1.0
