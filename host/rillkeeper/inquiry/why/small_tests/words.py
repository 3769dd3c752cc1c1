"""What small tests have told, and which one to make next, in plain words."""

from collections.abc import Mapping
from math import exp

from rillkeeper.display_units import Shown
from rillkeeper.inquiry.why.small_tests.informed import Informed
from rillkeeper.inquiry.why.small_tests.table import (
    BY_NAME,
    LENGTH,
    OF_SOUND,
    PRESSURE,
    RATIO,
    Reading,
    SmallTest,
)
from rillkeeper.inquiry.why.small_tests.worth import Worth


def next_text(worth: Worth) -> str:
    """The test to make. It may part a cause further down from those named first."""
    test = worth.test
    title = f"{test.title[0].lower()}{test.title[1:]}"
    return (
        "To tell the likely causes apart one small test is best for the walk: rillkeeper test "
        f"{test.name} ({title}; about {test.walk_min:.0f} min). Of ten such cases the first cause "
        f"is the right one in {tenths(worth.right_now)} now, the likeliest in "
        f"{tenths(worth.right_after)} after it."
    )


def tenths(chance: float) -> int:
    """Of ten cases.

    >>> tenths(0.62), tenths(0.999)
    (6, 10)
    """
    return round(10.0 * chance)


def made_text(small: Informed, shown: Shown) -> list[str]:
    """Each test that was made, with what the sound site would have read."""
    return [
        f"Test {one.test} of {one.made[:10]}: "
        f"{readings_text(BY_NAME[one.test], one.readings, small.found.margins.sound, shown)}."
        for one in small.made
    ]


def readings_text(
    test: SmallTest,
    readings: Mapping[str, float | None],
    sound: Mapping[str, float],
    shown: Shown,
) -> str:
    """The readings of a test in words, each beside that of the sound site."""
    parts: list[str] = []
    for one in test.readings:
        value = readings.get(one.key)
        if value is None or value != value:
            parts.append("the pump did not come to a settled run" if not parts else "")
            continue
        normal = sound[one.key]
        beside = "" if normal != normal else f" (sound: {_number(one, normal, normal, shown)})"
        parts.append(one.words.format(_number(one, value, normal, shown)) + beside)
    return "; ".join(part for part in parts if part)


def _number(reading: Reading, value: float, sound: float, shown: Shown) -> str:
    if reading.shape == LENGTH:
        return shown.text(exp(value), "length")
    if reading.shape == PRESSURE:
        return shown.text(exp(value), "pressure")
    if reading.shape == OF_SOUND:
        return f"{exp(value - sound):.2f}"
    return f"{exp(value) if reading.shape == RATIO else value:.2f}"


def table_rows(small: Informed) -> list[list[str]]:
    """Every test that could be made, for a table."""
    return [
        [
            one.test.name,
            one.test.title,
            f"{one.test.walk_min:.0f} min",
            f"{100 * one.right_now:.0f} %",
            f"{100 * one.right_after:.0f} %",
        ]
        for one in small.worths
    ]
