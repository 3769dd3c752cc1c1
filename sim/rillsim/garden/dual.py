"""The dual crop coefficient: what the crop gives off, and what the wet ground between it.

A plot that is watered every night has a wet surface every morning, and the sun dries that
besides what the crop uses. So the use of a day is (Ks Kcb + Ke) ETo: Kcb is the crop's with a
dry surface, Ke the bare wet ground's. Ke is large until the surface has given up REW, then falls
to nothing at TEW.

The ground of one cell is wet all over or dry all over: the share that is wetted (fw) is one, and
what a sprinkler leaves dry are other cells.

Reference
---------
Allen, Pereira, Raes and Smith (1998), FAO Irrigation and Drainage Paper 56, chapter 7; the
equation numbers are that paper's. Inputs of its examples are quoted from memory.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rillsim.garden.crops import Crop

Floats = NDArray[np.float64]

DRYING_M = 0.10
"""Depth of the layer that dries by evaporation, Ze (FAO-56 chapter 7: 0.10 to 0.15 m)."""
KC_BARE = 0.15
"""Kc min of eq. 76: nearly bare ground with a dry surface."""
WIND_USUAL_M_S, HUMIDITY_USUAL = 2.0, 45.0
"""The sub-humid climate that the coefficients of tables 12 and 17 are for: nothing to adjust."""
ADJUSTED_FROM = 0.45
"""A smaller Kcb is taken from table 17 as it is (eq. 70)."""


class DualKc(NamedTuple):
    """The coefficients of a day."""

    basal: float
    """Kcb: the crop, the ground between dry."""
    most: float
    """Kc max: more than that no sun and wind can take."""
    exposed: float
    """Share of the ground that is bare, and so few; 0.01 to 1."""


def climate_term(wind_m_s: float, humidity_min: float, height_m: float) -> float:
    """What wind at 2 m and the day's lowest humidity add to Kcb and Kc max [-] (eq. 70, 72).

    (0.04 (u2 - 2) - 0.004 (RHmin - 45)) (h / 3)^0.3, within 1 to 6 m/s and 20 to 80 %.

    >>> round(climate_term(3.0, 20.0, 1.0), 3)
    0.101
    """
    wind, humidity = min(6.0, max(1.0, wind_m_s)), min(80.0, max(20.0, humidity_min))
    term = 0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0)
    return float(term * (height_m / 3.0) ** 0.3)


def basal_adjusted(table: float, climate: float) -> float:
    """Kcb of a climate from that of table 17 [-] (eq. 70).

    >>> basal_adjusted(0.15, 0.1), round(basal_adjusted(1.10, 0.1), 2)
    (0.15, 1.2)
    """
    return table + climate if table > ADJUSTED_FROM else table


def kc_max(basal: float, climate: float) -> float:
    """Upper limit of Kcb + Ke, Kc max [-] (eq. 72).

    FAO-56 example 33 (cotton of 1 m, wind 3 m/s, lowest humidity 20 %) has 1.30.

    >>> round(kc_max(0.9, climate_term(3.0, 20.0, 1.0)), 2)
    1.3
    """
    return max(1.2 + climate, basal + 0.05)


def ground_cover(basal: float, most: float, height_m: float) -> float:
    """Share of the ground that the crop shades, fc [-] (eq. 76).

    fc = ((Kcb - Kc min) / (Kc max - Kc min))^(1 + 0.5 h), 0 to 0.99. FAO-56 example 33 has 0.53.

    >>> round(ground_cover(0.9, 1.30, 1.0), 2)
    0.53
    """
    share = max(0.0, basal - KC_BARE) / (most - KC_BARE)
    return min(0.99, float(share ** (1.0 + 0.5 * height_m)))


def total_evaporable_mm(field_capacity: float, wilting_point: float) -> float:
    """What a wet surface can give up before it stops, TEW [mm] (eq. 73).

    TEW = 1000 (fc - 0.5 wp) Ze. FAO-56 example 35 (sandy loam, 0.23 and 0.10) has 18.

    >>> round(total_evaporable_mm(0.23, 0.10), 9)
    18.0
    """
    return 1000.0 * (field_capacity - 0.5 * wilting_point) * DRYING_M


def dual_kc(crop: Crop, stage: str, wind_m_s: float, humidity_min: float) -> DualKc:
    """The coefficients of a crop on a day of this wind at 2 m and lowest humidity [%].

    >>> lettuce = Crop("lettuce", 0.15, 0.90, 0.90, 0.3, 0.3, 0.5, 0.30)
    >>> day = dual_kc(lettuce, "mid", 2.0, 45.0)
    >>> round(day.basal, 2), round(day.most, 2), round(day.exposed, 2)
    (0.9, 1.2, 0.32)
    """
    height_m = crop.height_at(stage)
    climate = climate_term(wind_m_s, humidity_min, height_m)
    basal = basal_adjusted(crop.basal(stage), climate)
    most = kc_max(basal, climate)
    cover = ground_cover(basal, most, height_m)
    return DualKc(basal, most, min(1.0, max(0.01, 1.0 - cover)))


def drawn_mm(asked_mm: float, depletion_mm: Floats, readily_mm: float, total_mm: float) -> Floats:
    """What is had of a demand out of stores that give freely at first and ever less later [mm].

    All that is asked for while the depletion is under ``readily_mm``; from there on a share of
    it that falls in a straight line to none at ``total_mm`` (eq. 74 for the surface, eq. 84 for
    the roots). For an even demand that is an exponential: here in closed form, so that a day in
    one step and in a thousand end in the same place.

    >>> drawn_mm(5.0, np.array([0.0, 20.0]), 15.6, 52.0).round(3).tolist()
    [5.0, 4.107]
    """
    freely_mm = np.clip(readily_mm - depletion_mm, 0.0, asked_mm)
    left_mm = total_mm - depletion_mm - freely_mm
    return freely_mm - left_mm * np.expm1((freely_mm - asked_mm) / (total_mm - readily_mm))


def evaporated_mm(
    kc: DualKc, reference_mm: float, dried_mm: Floats, readily_mm: float, total_mm: float
) -> Floats:
    """What the bare ground between the crop gives off, E = Ke ETo [mm over the cell].

    Ke = Kr (Kc max - Kcb), at most few Kc max (eq. 71), with Kr of eq. 74.

    Parameters
    ----------
    kc : DualKc
        Coefficients of the day
    reference_mm : float
        ETo of the step [mm]
    dried_mm : array of float
        What the bare ground has given up since it was last wet, De [mm]
    readily_mm, total_mm : float
        REW and TEW [mm]

    Examples
    --------
    FAO-56 example 32 (bare loam, TEW 20, REW 9 mm, 4.5 mm a day): 5.4 mm on the first day.

    >>> bare = DualKc(0.0, 1.2, 1.0)
    >>> evaporated_mm(bare, 4.5, np.zeros(1), 9.0, 20.0).round(2).tolist()
    [5.4]
    """
    wet = (kc.most - kc.basal) / kc.exposed
    if wet <= 0.0:
        return np.zeros_like(dried_mm)
    rate = min(wet, kc.most)
    # Where the sun gives less than the wet surface could, that lasts until Kr has come down to it.
    freely_mm = total_mm - (total_mm - readily_mm) * rate / wet
    return kc.exposed * drawn_mm(rate * reference_mm, dried_mm, freely_mm, total_mm)
