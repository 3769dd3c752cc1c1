"""Quantities as text: exact factors, round trips, and input that makes no sense."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rillkeeper import units
from rillkeeper.unit_table import DIMENSIONS

scipy_constants = pytest.importorskip("scipy.constants")

NIST_SP_811 = [  # Printed factors, NIST SP 811 (2008) appendix B.8; figures from memory.
    ("1 in", "length", 2.54e-2),
    ("1 ft", "length", 3.048e-1),
    ("1 yd", "length", 9.144e-1),
    ("1 ft2", "area", 9.290304e-2),
    ("1 cmil", "wire section", 5.067075e-10),
    ("1 gal", "volume", 3.785412e-3),
    ("1 imp gal", "volume", 4.54609e-3),
    ("1 ft3", "volume", 2.831685e-2),
    ("1 gal/min", "flow", 6.309020e-5),
    ("1 psi", "pressure", 6.894757e3),
    ("1 bar", "pressure", 1e5),
    ("1 ft head", "pressure", 2.989067e3),
    ("1 m head", "pressure", 9.80665e3),
    ("1 mph", "speed", 4.4704e-1),
    ("1 km/h", "speed", 2.777778e-1),
    ("1 kn", "speed", 5.144444e-1),
    ("1 lb", "mass", 4.535924e-1),
    ("1 oz", "mass", 2.834952e-2),
    ("1 hp", "power", 7.456999e2),
    ("1 kWh", "energy", 3.6e6),
    ("1 Ah", "charge", 3.6e3),
    ("1 rpm", "shaft speed", 1.047198e-1),
]

SCIPY = [  # CODATA and exact definitions as the reference library has them.
    ("1 in", "length", "inch"),
    ("1 yd", "length", "yard"),
    ("1 gal", "volume", "gallon"),
    ("1 imp gal", "volume", "gallon_imp"),
    ("1 psi", "pressure", "psi"),
    ("1 mph", "speed", "mph"),
    ("1 kn", "speed", "knot"),
    ("1 lb", "mass", "pound"),
    ("1 oz", "mass", "oz"),
    ("1 hp", "power", "hp"),
]


@pytest.mark.parametrize(("text", "dimension", "factor"), NIST_SP_811)
def test_printed_factor(text: str, dimension: str, factor: float) -> None:
    assert units.parse(text, dimension) == pytest.approx(factor, rel=5e-7)


@pytest.mark.parametrize(("text", "dimension", "name"), SCIPY)
def test_reference_library(text: str, dimension: str, name: str) -> None:
    expected = getattr(scipy_constants, name)
    assert units.parse(text, dimension) == pytest.approx(expected, rel=1e-15)


# ASTM B258 table of solid wire: gauge, area in mm2 as published.
@pytest.mark.parametrize(
    ("gauge", "area_mm2"),
    [
        (18, 0.8230),
        (16, 1.3087),
        (14, 2.0809),
        (12, 3.3088),
        (10, 5.2612),
        (8, 8.3656),
        (6, 13.302),
    ],
)
def test_wire_gauge(gauge: int, area_mm2: float) -> None:
    area_m2 = units.parse(f"{gauge} AWG", "wire section")
    assert area_m2 * 1e6 == pytest.approx(area_mm2, rel=1e-4)
    assert units.format(area_m2, "wire section", "us") == f"{gauge} AWG"


def test_heavy_wire_gauge_is_0_46_in() -> None:
    """ASTM B258 fixes 4/0 at 0.46 in of diameter."""
    assert units.parse("4/0 AWG", "wire section") == pytest.approx(
        math.pi / 4 * (0.46 * 0.0254) ** 2, rel=1e-12
    )
    assert units.format(units.parse("2/0 AWG", "wire section"), "wire section", "us") == "2/0 AWG"


@pytest.mark.parametrize(
    ("text", "celsius"), [("32 F", 0.0), ("212 F", 100.0), ("-40 F", -40.0), ("273.15 K", 0.0)]
)
def test_temperature_fixed_points(text: str, celsius: float) -> None:
    assert units.parse(text, "temperature") == celsius


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("3/4 in", "bore", 0.01905),
        ("1 1/2 in", "bore", 0.0381),
        ("1-1/2in", "bore", 0.0381),
        ("  19mm ", "bore", 0.019),
        (".5 m", "length", 0.5),
        ("5.5 gpm", "flow", 5.5 * 3.785411784e-3 / 60),
        ("2.5 mm\N{SUPERSCRIPT TWO}", "wire section", 2.5e-6),
        ("4 m\N{GREEK CAPITAL LETTER OMEGA}", "resistance", 0.004),
        ("1e-3 V", "voltage", 0.001),
        ("-12 h", "time", -43200.0),
        ("70 %", "share", 0.7),
        ("2 cm/day", "daily fall", 0.02 / 86400),
    ],
)
def test_spellings(text: str, dimension: str, value: float) -> None:
    assert units.parse(text, dimension) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "dimension", "problem", "nearest"),
    [
        ("18", "length", "the unit is missing", ""),
        ("", "length", "not a number", ""),
        ("m", "length", "not a number", ""),
        ("nan m", "length", "not a number", ""),
        ("inf m", "length", "not a number", ""),
        ("18 psi", "length", "a pressure, where a length belongs", ""),
        ("18 m head", "flow", "a pressure, where a flow belongs", ""),
        ("5 Gal/Min", "flow", 'no unit "Gal/Min"', "gal/min"),
        ("5 metr", "length", 'no unit "metr"', "m"),
        ("1,5 m", "length", "a comma", ""),
        ("1/0 in", "bore", "a fraction over zero", ""),
        ("1e999 m", "length", "too large a number", ""),
        ("9" * 5000 + " m", "length", "no unit", ""),
        ("12.5 AWG", "wire section", "no such wire gauge", ""),
        ("41 AWG", "wire section", "no such wire gauge", ""),
        ("-2 AWG", "wire section", "no such wire gauge", ""),
        ("5/0 AWG", "wire section", "no such wire gauge", ""),
        ("\N{ARABIC-INDIC DIGIT FIVE} m", "length", "not a number", ""),
    ],
)
def test_nonsense(text: str, dimension: str, problem: str, nearest: str) -> None:
    with pytest.raises(units.UnitError) as caught:
        units.parse(text, dimension)
    assert problem in caught.value.problem
    assert caught.value.nearest == nearest
    assert caught.value.allowed


def test_every_spelling_leads_to_a_unit_of_its_dimension() -> None:
    for dimension in DIMENSIONS.values():
        assert {dimension.metric, dimension.us} <= dimension.units.keys()
        assert set(dimension.offset) <= dimension.units.keys()
        for spelling in dimension.alias:
            assert spelling not in dimension.units
            assert dimension.unit(spelling) in {*dimension.units, ""}


def test_a_shared_spelling_of_a_unit_that_a_dimension_lacks_is_refused() -> None:
    with pytest.raises(units.UnitError, match="a length, where a depth of water belongs"):
        units.parse("3 yards", "water depth")


@pytest.mark.parametrize("system", units.SYSTEMS)
@given(value=st.floats(1e-9, 1e9), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_format_then_parse_gives_the_value(system: str, value: float, dimension: str) -> None:
    full = units.parse(units.format(value, dimension, system, digits=17), dimension)
    assert full == pytest.approx(value, rel=1e-14, abs=1e-13)
    short = units.parse(units.format(value, dimension, system), dimension)
    zero_shift = 300.0 if dimension == "temperature" else 0.0
    assert short == pytest.approx(value, rel=6e-4, abs=5e-4 * zero_shift)


@given(st.floats(-1e9, -1e-9), st.sampled_from(sorted(DIMENSIONS)), st.sampled_from(units.SYSTEMS))
def test_negative_values_keep_their_sign(value: float, dimension: str, system: str) -> None:
    text = units.format(value, dimension, system, digits=17)
    assert units.parse(text, dimension) == pytest.approx(value, rel=1e-14, abs=1e-13)


@given(st.integers(1, 64 * 12))
def test_drilled_bores_are_shown_as_fractions(sixty_fourths: int) -> None:
    bore_m = sixty_fourths / 64 * 0.0254
    text = units.format(bore_m, "bore", "us")
    assert "." not in text
    assert units.parse(text, "bore") == pytest.approx(bore_m, rel=1e-15)


@given(
    st.text(max_size=30)
    | st.from_regex(r"-?[0-9./ ]{1,8}( ?[a-zA-Z/%\"']{1,6})?", fullmatch=True),
    st.sampled_from(sorted(DIMENSIONS)),
)
def test_any_text_is_a_number_or_a_unit_error(text: str, dimension: str) -> None:
    with contextlib.suppress(units.UnitError):
        assert math.isfinite(units.parse(text, dimension))


@given(st.integers(0, 1439))
def test_clock_round_trip(minute: int) -> None:
    assert units.parse_clock(units.format_clock(minute * 60)) == minute * 60


@pytest.mark.parametrize("text", ["24:00", "22:60", "22", "13 pm", "0 am", "pm", "", "22:30:00"])
def test_clock_nonsense(text: str) -> None:
    with pytest.raises(units.UnitError):
        units.parse_clock(text)


@pytest.mark.parametrize(
    ("written", "plain", "dimension"),
    [
        ("7 ft 10 in", "94 in", "length"),
        ("7'10\"", "94 in", "length"),
        ("7\N{PRIME} 10\N{DOUBLE PRIME}", "94 in", "length"),
        ("7 feet and 10 inches", "94 in", "length"),
        ("2 m 40 cm", "2.4 m", "length"),
        ("1 h 30 min", "90 min", "time"),
        ("1h30min", "90 min", "time"),
        ("\N{VULGAR FRACTION ONE HALF} in", "1/2 in", "bore"),
        ("1\N{VULGAR FRACTION THREE QUARTERS} in", "1 3/4 in", "bore"),
        ("5\N{VULGAR FRACTION FIVE EIGHTHS} ft 2 in", "69.5 in", "length"),
        ("3\N{FRACTION SLASH}4 in", "3/4 in", "bore"),
        ("2.4\N{NO-BREAK SPACE}m", "2.4 m", "length"),
        ("\N{MINUS SIGN}5 C", "-5 C", "temperature"),
        ("AWG 16", "16 AWG", "wire section"),
        ("awg16", "16 AWG", "wire section"),
        ("#12 AWG", "12 AWG", "wire section"),
        ("AWG 2/0", "2/0 AWG", "wire section"),
    ],
)
def test_spellings_that_people_write(written: str, plain: str, dimension: str) -> None:
    read = units.parse(written, dimension)
    assert read == pytest.approx(units.parse(plain, dimension), rel=1e-12)


@pytest.mark.parametrize(
    ("written", "dimension"),
    [
        ("10 in 7 ft", "length"),  # The smaller unit does not come first.
        ("7 ft 10", "length"),
        ("7 ft 10 psi", "length"),
        ("7 ft -10 in", "length"),
        ("7 ft 1/0 in", "length"),
        ("20 C 5 F", "temperature"),
        ("AWG", "wire section"),
    ],
)
def test_what_only_looks_like_it(written: str, dimension: str) -> None:
    with pytest.raises(units.UnitError):
        units.parse(written, dimension)
