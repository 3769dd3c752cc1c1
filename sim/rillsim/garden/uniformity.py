"""How evenly water lies: figures from catch cans or from the cells of a map."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LOW_QUARTER = 0.25
"""Share of the ground that the trade judges a sprinkler by (ASAE S398)."""


def _depths(depths_mm: ArrayLike) -> tuple[Floats, float]:
    flat = np.asarray(depths_mm, dtype=np.float64).ravel()
    if flat.size == 0 or not np.all(np.isfinite(flat)) or np.any(flat < 0.0):
        raise ValueError("uniformity needs at least one depth, and every depth at 0 mm or more")
    return flat, float(flat.mean())


def christiansen_cu(depths_mm: ArrayLike) -> float:
    """Christiansen's coefficient of uniformity, CU = 100 (1 - sum|x - mean| / sum x) [%].

    Parameters
    ----------
    depths_mm : array of float
        Depth in each can or cell of equal area [mm]

    Notes
    -----
    100 is perfect; 0 where nothing fell. One sprinkler alone over a whole plot can go below 0.
    Christiansen (1942), California Agr. Exp. Station Bulletin 670.

    >>> round(christiansen_cu([12, 10, 11, 9, 8, 10, 13, 7]), 9)
    85.0
    """
    flat, mean = _depths(depths_mm)
    if mean == 0.0:
        return 0.0
    return cu_from_sums(float(flat.sum()), float(np.abs(flat - mean).sum()))


def cu_from_sums(total_mm: float, deviation_mm: float) -> float:
    """The same from the sum of the depths and the sum of their deviations [%].

    >>> round(cu_from_sums(1500.0, 100.0), 2)
    93.33
    """
    return 100.0 * (1.0 - deviation_mm / total_mm)


def low_quarter_mean(values: ArrayLike) -> float:
    """Mean of the quarter with the smallest values.

    Where the number of cans is not a multiple of four, the can at the quarter counts in part.
    ASAE S398 (low quarter).

    >>> low_quarter_mean([12, 10, 11, 9, 8, 10, 13, 7])
    7.5
    """
    # Sorted whole: where most cells are dry, numpy's partition takes a hundred times as long.
    flat = np.sort(np.asarray(values, dtype=np.float64), axis=None)
    quarter = LOW_QUARTER * flat.size
    whole = int(quarter)
    return float((flat[:whole].sum() + (quarter - whole) * flat[whole]) / quarter)


def low_quarter_weights(values: ArrayLike) -> Floats:
    """What each can or cell counts in that mean; in the shape of the values, sum 1.

    >>> low_quarter_weights([12, 10, 11, 9, 8, 10, 13, 7]).tolist()
    [0.0, 0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.5]
    """
    cells = np.asarray(values, dtype=np.float64)
    quarter = LOW_QUARTER * cells.size
    whole = int(quarter)
    order = np.argsort(cells, axis=None, kind="stable")
    weights = np.zeros(cells.size)
    weights[order[:whole]] = 1.0 / quarter
    weights[order[whole]] = (quarter - whole) / quarter
    return weights.reshape(cells.shape)


def du_low_quarter(depths_mm: ArrayLike) -> float:
    """Distribution uniformity, mean of the driest quarter over the mean of all [%].

    >>> round(du_low_quarter([12, 10, 11, 9, 8, 10, 13, 7]), 9)
    75.0
    """
    flat, mean = _depths(depths_mm)
    return 100.0 * low_quarter_mean(flat) / mean if mean > 0.0 else 0.0
