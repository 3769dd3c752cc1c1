r"""How warm open water is, from the air of its season.

.. math:: T_w = 5.0 + 0.75 \, T_a

T_a is the mean air temperature of the weeks around. Made for weekly means of eleven streams in the
middle of North America, with a deviation of 2 to 3 K, and no colder than 0 C. A pond in the sun is
warmer by day, a spring keeps the year's mean: who knows better writes ``water.temperature``.

References
----------
.. [1] Stefan, H. G. and Preud'homme, E. B. (1993), Stream temperature estimation from air
   temperature, Water Resources Bulletin 29(1), 27-45 (from memory).
"""

AT_FREEZING_C = 5.0
WITH_AIR = 0.75


def water_c(air_c: float) -> float:
    """Temperature of open water [C] where the air's mean is ``air_c``.

    >>> water_c(20.0), water_c(-10.0)
    (20.0, 0.0)
    """
    return max(0.0, AT_FREEZING_C + WITH_AIR * air_c)
