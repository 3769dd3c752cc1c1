"""How many times a battery can be emptied before it is worn out."""

from rillsim.supply.chemistry import Table, interpolate

# Depth of discharge against cycles to 80 % of the rating: middle of the usual handbook ranges
# (valve-regulated 200-400, 400-700 and 1000-1500 at 100, 50 and 30 %); from memory.
_CYCLES: dict[str, Table] = {
    "flooded": ((0.3, 1100.0), (0.5, 500.0), (1.0, 250.0)),
    "agm": ((0.3, 1250.0), (0.5, 550.0), (1.0, 300.0)),
    "lfp": ((0.3, 7000.0), (0.5, 4000.0), (1.0, 2000.0)),
}


def cycle_life(chemistry: str, depth: float) -> float:
    """Cycles to the end of life at this depth of discharge, [-].

    The charge that passes in a lifetime, cycles times depth, is roughly constant; below the
    shallowest point it is taken as constant. Warmth, overcharge and lying empty shorten it.

    Parameters
    ----------
    chemistry : str
        "flooded", "agm" or "lfp"
    depth : float
        Share of the rating that is drawn before each charge, 0 < depth <= 1, [-]

    Examples
    --------
    >>> cycle_life("agm", 0.5)
    550.0
    """
    if chemistry not in _CYCLES:
        known = ", ".join(_CYCLES)
        raise ValueError(f"battery chemistry {chemistry!r} is unknown; choose of {known}")
    if not 0.0 < depth <= 1.0:
        raise ValueError(f"depth of discharge is {depth}; it must be over 0 and at most 1")
    table = _CYCLES[chemistry]
    shallow, most = table[0]
    if depth < shallow:
        return most * shallow / depth
    return interpolate(table, depth)
