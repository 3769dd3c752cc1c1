"""Whatever comes in: what may never happen, never happens."""

from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from keeper import Keeper, Settings
from keeper.cycle import STATES
from keeper.facts import EACH, FACTS
from keeper.facts import NAME as FACT_NAME
from keeper.records import FIELDS_MAX, KIND, KINDS
from keeper.relay import BOTH, FIRST
from keeper.rules import GIVES_WAY_TO, HOLD, NAME, RULES
from keeper.settings import SCHEMA, problems
from tests.effort import examples

from .bench import SITE
from .chaos import Chaos
from .smallint import HIGHEST, LOWEST, Small, numbers_in

SHORT = {"run_max_s": 120, "hand_minutes": 15, "prime_ms": 9000, "retry_rest_s": 20}
SHORT |= {"stuck_ms": 20000, "starts_max": 60, "duty_s": 900, "dry_tries": 5, "rain_skip_s": 60}
SENSORS = ("battery", "pressure", "load_sense", "rain", "button", "frost", "current") + (
    "second_relay",
    "flow",
)
PUMPING = {STATES.index("prime"), STATES.index("run")}


def sensors_of(fitted: int) -> dict[str, int]:
    """What is fitted, by bits; without both of the first two a board does not pump at all."""
    fitted = fitted if fitted & 3 else fitted | 1
    return {name + "_fitted": fitted >> bit & 1 for bit, name in enumerate(SENSORS)}


class Watch:
    """Steps a keeper and holds every step to what must be so."""

    def __init__(self, fitted: int, seed: int, wildness: float) -> None:
        self.settings = Settings({**SITE, **SHORT, **sensors_of(fitted)}, trial=True)
        self.keeper = Keeper(self.settings)
        if seed % 3 == 2:  # The battery is nearly empty, so that it may be found flat.
            self.keeper.facts.judged = 1
            self.keeper.facts.rest_over_mv = 2000
            self.keeper.facts.left_mah = self.settings.capacity_mah >> 2
        self.chaos = Chaos(seed, wildness)
        self.whole = BOTH if self.settings.second_relay_fitted else FIRST
        self.level = 0
        self.on = 0
        self.on_ms = 0
        self.bad_ms = {"battery": -1, "pressure": -1, "current": -1}
        self.waits_ms = {name: self.waits_of("bad " + name) for name in self.bad_ms}
        self.last_ms = -1
        self.pumped = False

    def waits_of(self, rule: str) -> int:
        """How long a rule gives way at the most, one cause after the other."""
        rows = {row[NAME]: row for row in RULES}
        holds = [rows[cause][HOLD] for cause in rows[rule][GIVES_WAY_TO].split(", ") if cause]
        return sum(hold if isinstance(hold, int) else self.limit(hold) for hold in holds)

    def limit(self, key: str) -> int:
        return int(getattr(self.settings, key))

    def step(self) -> None:
        keeper = self.keeper
        inputs = self.chaos.tick(self.on, keeper.nap_ms)
        if wish := self.chaos.wish():
            keeper.command(*wish)
        dt_ms = (inputs[0] - self.last_ms) & 0x3FFFFFFF if self.last_ms >= 0 else 0
        self.last_ms = inputs[0]
        was_on = self.on
        *inputs, keeper.pulses = inputs
        self.level = keeper.step(*inputs)
        assert type(self.level) is int
        assert self.level in (0, 1, self.whole & 2, self.whole)
        self.on = int(self.level == self.whole)
        assert self.on == (keeper.state in PUMPING), STATES[keeper.state]
        if self.whole == FIRST:
            assert self.level == self.on
        elif not self.on and self.level:
            assert keeper.nap_ms == 0, "closed alone, and nobody looks"
        if was_on and dt_ms > 500:
            assert self.on == 0, "held over a gap in the ticks"
        self.on_ms = self.on_ms + dt_ms if self.on and was_on else 0
        assert self.on_ms <= (self.settings.run_max_s + 1) * 1000
        self.judge_sensors(inputs, dt_ms)
        self.pumped = self.pumped or self.on == 1
        while keeper.journal.waiting:
            row = keeper.journal.take()
            assert 0 <= row[KIND] < len(KINDS)
            assert all(LOWEST <= number <= HIGHEST for number in row)

    def judge_sensors(self, inputs: tuple[int, ...], dt_ms: int) -> None:
        """The pump does not run on a reading that has been seen out of band for its hold, and
        for the holds of the causes that it might be a symptom of."""
        bands = {"battery": (4, 1200, 3500), "pressure": (5, 205, 3891), "current": (9, 0, 4000)}
        for name, (place, low, high) in bands.items():
            if low <= inputs[place] <= high:
                self.bad_ms[name] = -1
            else:  # The first look counts nothing: the time before it was not seen.
                self.bad_ms[name] = self.bad_ms[name] + dt_ms if self.bad_ms[name] >= 0 else 0
            if getattr(self.settings, name + "_fitted") and self.on:
                assert self.bad_ms[name] < self.settings.sensor_hold_ms + self.waits_ms[name]


@pytest.mark.no_cover
@examples(20, 60)
@given(st.integers(0, 511), st.integers(0, 2**32), st.sampled_from((0.02, 0.1, 0.5)))
@example(127, 1, 0.02)
@example(255, 1, 0.02)
@example(511, 1, 0.02)
@example(381, 4, 0.1)
@example(0, 2, 0.02)
@example(63, 3, 0.1)
def test_relay_is_closed_only_when_it_may_be(fitted: int, seed: int, wildness: float) -> None:
    watch = Watch(fitted, seed, wildness)
    for _ in range(4000):
        watch.step()
    numbers = numbers_in(watch.keeper)
    assert len(numbers) > 400
    assert LOWEST <= min(numbers)
    assert max(numbers) <= HIGHEST
    facts = watch.keeper.facts
    assert all(type(getattr(facts, row[FACT_NAME])) is int for row in FACTS if not row[EACH])
    assert all(
        type(n) is int for row in FACTS if row[EACH] for n in getattr(facts, row[FACT_NAME])
    )


@pytest.mark.no_cover
def test_the_walks_above_do_pump_and_trip() -> None:
    """Or they would prove nothing."""
    reached = set()
    pumped = 0
    for seed in range(18):
        watch = Watch(63, seed, 0.1)
        for _ in range(6000):
            watch.step()
            reached.add(STATES[watch.keeper.state])
        pumped += watch.pumped
    assert pumped >= 9
    assert reached >= set(STATES) - {"unset", "soak"}


def far_settings(seed: int, fitted: int) -> dict[str, int]:
    """The site with one setting after another at an end of its range, where all allow it."""
    random = Random(seed)
    values = {**SITE, **SHORT, **sensors_of(fitted)}
    rows = [row for row in SCHEMA if not row[0].endswith("_fitted")]
    for key, _, low, high, *_ in random.sample(rows, random.choice((0, 10, 30, 80))):
        far = {**values, key: random.choice((low, high))}
        if not problems(far, trial=True):
            values = far
    return values


@pytest.mark.no_cover
@examples(30, 150)
@given(st.integers(0, 511), st.integers(0, 2**32), st.sampled_from((0.02, 0.1, 0.5)))
def test_no_result_leaves_31_bits(fitted: int, seed: int, wildness: float) -> None:
    """Not even one that is divided again at once: see smallint.py."""
    settings = Settings(far_settings(seed, fitted), trial=True)
    for key, value in settings.values().items():
        setattr(settings, key, Small(value))
    keeper = Keeper(settings)
    chaos = Chaos(seed, wildness, Small)
    level = 0
    for _ in range(1500):
        *inputs, keeper.pulses = chaos.tick(int(level), int(keeper.nap_ms))
        level = keeper.step(*inputs)
        if wish := chaos.wish():
            keeper.command(Small(wish[0]), Small(wish[1]))
        while keeper.journal.waiting:
            keeper.journal.take()


@pytest.mark.no_cover
def test_small_objects() -> None:
    with pytest.raises(OverflowError):
        Small(1 << 20) * 1024
    with pytest.raises(OverflowError):
        (1 << 29) + Small(1 << 29)
    assert type(3 - Small(2)) is Small
    assert FIELDS_MAX == max(len(names) for _, names in KINDS)
