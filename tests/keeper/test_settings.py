"""Settings: everything that is wrong is said at once, in a sentence of its own."""

import pytest

from keeper import Settings, SettingsError
from keeper import settings as settings_module
from keeper.checked import DEPTH, MINUTES, SETS, VOLUME
from keeper.settings import ORDER, SCHEMA, problems

from .bench import SITE
from .schema import BOUNDS, ORDERS

KEYS = [row[0] for row in SCHEMA]
REQUIRED = [row[0] for row in SCHEMA if row[4] is None]


def test_the_site_has_no_problem() -> None:
    assert problems(SITE) == []


def test_schema_is_sound() -> None:
    assert len(set(KEYS)) == len(KEYS)
    for key, unit, low, high, default in SCHEMA:
        assert low < high, key
        assert unit
        assert default is None or low <= default <= high, key
        assert max(abs(low), abs(high)) < 1 << 30


def test_every_way_of_missing_is_listed_at_once() -> None:
    found = problems({})
    assert [text.split(":")[0] for text in found] == REQUIRED
    assert all("missing" in text for text in found)


@pytest.mark.parametrize("key", REQUIRED)
def test_a_sensor_or_limit_is_never_left_out_by_silence(key: str) -> None:
    values = {name: value for name, value in SITE.items() if name != key}
    assert any(text.startswith(key + ": missing") for text in problems(values))


@pytest.mark.parametrize("row", SCHEMA, ids=lambda row: row[0])
def test_range_is_held(row: tuple) -> None:
    key, unit, low, high, *_ = row
    for value in (low - 1, high + 1):
        expected = f"{key}: {value} is outside {low} to {high} {unit}"
        assert expected in problems({**SITE, key: value})
    for value in (low, high):
        assert not any(f"{key}: {value} is outside" in t for t in problems({**SITE, key: value}))


@pytest.mark.parametrize("value", [1.5, "12", True, [1]])
def test_only_whole_numbers(value: object) -> None:
    assert problems({**SITE, "retry_rest_s": value}) == [
        f"retry_rest_s: {value!r} is not a whole number"
    ]


def test_an_unknown_key_is_named() -> None:
    assert problems({**SITE, "retry_rest": 3}) == ["retry_rest: no such setting"]


@pytest.mark.parametrize(("smaller", "larger"), ORDER)
def test_order_is_held(smaller: str, larger: str) -> None:
    values = {**{row[0]: row[4] for row in SCHEMA}, **SITE}
    equal = values[smaller] = values[larger]
    assert f"{smaller} ({equal}) must be below {larger} ({equal})" in problems(values)


def test_every_mistake_is_listed() -> None:
    wrong = {**SITE, "dry_pa": 50000, "floor_mv": 12000, "typo": 1, "starts_max": 0}
    del wrong["battery_fitted"]
    keys = [text.split(":")[0].split(" ")[0] for text in problems(wrong)]
    assert keys == ["battery_fitted", "starts_max", "typo", "dry_pa", "floor_mv"]
    with pytest.raises(SettingsError) as raised:
        Settings(wrong)
    assert raised.value.problems == problems(wrong)
    assert str(raised.value).count("; ") == 5


def test_defaults_are_filled_in() -> None:
    settings = Settings(SITE)
    assert settings.values() == {row[0]: SITE.get(row[0], row[4]) for row in SCHEMA}
    with pytest.raises(AttributeError, match="no such setting: dry"):
        _ = settings.dry


def test_high_pressure_must_be_seen() -> None:
    (found,) = problems({**SITE, "rating_pa": 1000000})
    assert "high pressure could not be seen" in found


@pytest.mark.parametrize("number", range(1, SETS + 1))
def test_a_set_gives_something(number: int) -> None:
    values = {**SITE, f"set{number}_unit": MINUTES, f"set{number}_amount": 0}
    assert problems(values) == [f"set{number}_amount: missing; the set gives nothing"]


@pytest.mark.parametrize(
    ("unit", "enough", "too_much"),
    [(MINUTES, 720, 721), (DEPTH, 840, 841), (VOLUME, 10080, 10081)],
)
def test_a_set_takes_at_most_half_a_day(unit: int, enough: int, too_much: int) -> None:
    """At 14 L/min half a day gives 10 080 litres: 84 mm on 120 m2."""
    values = {
        **SITE,
        "set1_unit": unit,
        "set1_amount": enough,
        "set1_runs": 8,
        "set1_soak_s": 900,
        "duty_permille": 900,
    }
    assert problems(values) == []
    found, *_ = problems({**values, "set1_amount": too_much})
    assert found.startswith("set1_amount: takes 12 h of pumping")


def test_a_set_off_needs_no_amount() -> None:
    assert problems({**SITE, "set1_unit": 0, "set1_amount": 0}) == []


def test_a_set_by_water_waits_for_what_it_is_worked_out_from() -> None:
    values = {**SITE, "set1_unit": VOLUME, "flow_ml_min": 0}
    assert len(problems(values)) == 1


def test_a_set_whose_water_is_not_known_is_none_of_the_night() -> None:
    sets = {"set1_unit": VOLUME, "set1_amount": 50, "set1_start_s": 0}
    assert settings_module._sets_of(sets) == []


@pytest.mark.parametrize(
    ("start_s", "since_noon_s"), [(43199, 86399), (43200, 0), (43201, 1), (0, 43200)]
)
def test_sets_are_in_the_order_of_a_night(start_s: int, since_noon_s: int) -> None:
    one = {"set1_unit": MINUTES, "set1_amount": 6, "set1_runs": 2, "set1_soak_s": 60}
    (found,) = settings_module._sets_of({**one, "set1_start_s": start_s})
    assert found == ("set1_", since_noon_s, 2, 180, 60)


def test_scales_of_no_such_pump_are_refused() -> None:
    (found,) = problems({**SITE, "pressure_span_count": 500})
    assert found.startswith("pressure_high_band_count: stands for 6962 kPa")
    (found,) = problems({**SITE, "current_ma_per_bar": 20000})
    assert found.startswith("current_ma_per_bar: gives")


def test_bounds_and_orders_are_what_was_meant() -> None:
    """One that is moved by mistake is not its twin in schema.py."""
    others = ("set2_", "set3_")
    rows = [
        f"{key} {low} {high} {'-' if default is None else default}"
        for key, _, low, high, default in SCHEMA
        if not key.startswith(others)
    ]
    assert rows == BOUNDS.split("\n")[1:-1], "a change that is meant is made in schema.py as well"
    assert [f"{a} < {b}" for a, b in ORDER] == ORDERS.split("\n")[1:-1]
    first = {row[0][5:]: row[1:5] for row in SCHEMA if row[0].startswith("set1_")}
    for key, *row in SCHEMA:
        if key.startswith(others):
            default = 0 if key.endswith("_unit") else first[key[5:]][3]
            assert tuple(row) == (*first[key[5:]][:3], default), key


TOP_SCALE = {
    "pressure_zero_count": 1391,
    "pressure_span_count": 2000,
    "pressure_span_kpa": 1600,
    "current_zero_ma": 40000,
}


@pytest.mark.parametrize(
    ("changes", "complaint"),
    [
        ({}, ""),
        ({"pressure_span_count": 1999}, "stands for 2001 kPa"),
        ({"current_zero_ma": 40001}, "gives 80001 mA"),
    ],
)
def test_a_scale_that_just_fits_31_bits(changes: dict[str, int], complaint: str) -> None:
    """2000 kPa at the top of the transducer, and 80 A there, but no more."""
    found = problems({**SITE, **TOP_SCALE, **changes})
    assert complaint in "; ".join(found)
    assert bool(found) == bool(complaint)


@pytest.mark.parametrize(
    ("rest_mv", "good"),
    [((0, 0, 0), True), ((12300, 12400, 12500), True), ((12300, 12300, 12500), False)]
    + [((12300, 0, 12500), False), ((12100, 12400, 12500), False), ((12300, 12400, 12550), False)],
)
def test_rest_voltages_rise_with_the_charge(rest_mv: tuple[int, int, int], good: bool) -> None:
    inner = dict(zip(("rest_25_mv", "rest_50_mv", "rest_75_mv"), rest_mv, strict=True))
    found = problems({**SITE, "empty_mv": 12200, **inner})
    assert [problem.split(":")[0] for problem in found] == ([] if good else ["rest_50_mv"])


def test_rest_voltages_out_of_their_range_are_said_once() -> None:
    assert len(problems({**SITE, "rest_50_mv": -1})) == 1
