"""The parts that touch pins, chips and timers, one by one, on stand-ins for the hardware."""

import ast
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from device import board, lamp, output, pins, watchdog
from keeper.cycle import STATES
from keeper.relay import BOTH, FIRST, RENEW_MS, SECOND
from keeper.ticks import MASK
from rillkeeper.pages.lamp import LAMP
from tests.interpreters import rigs


class Pin:
    """A pin that can be stuck."""

    def __init__(self, level: int = 0, stuck: bool = False) -> None:
        self.level = level
        self.stuck = stuck
        self.written: list[int] = []

    def value(self, level: int | None = None) -> int | None:
        if level is None:
            return self.level
        self.written.append(level)
        if not self.stuck:
            self.level = level
        return None


class Converter:
    def __init__(self, readings: list[int]) -> None:
        self.readings = readings
        self.at = 0

    def read_u16(self) -> int:
        self.at += 1
        return self.readings[(self.at - 1) % len(self.readings)]


class Broken:
    def read_u16(self) -> int:
        raise OSError(5)


@pytest.mark.parametrize("count", [0, 1, 2047, 2048, 4095])
def test_twelve_bits_come_through_sixteen(count: int) -> None:
    """The RP2040 port repeats the upper four bits below: rp2 port, machine_adc.c (from memory)."""
    assert pins.Channel(Converter([count << 4 | count >> 8])).read() == count


def test_channel_is_a_mean_of_sixteen() -> None:
    readings = [1000 << 4, 1016 << 4] * 8
    assert pins.Channel(Converter(readings)).read() == 1008


def test_a_broken_channel_reads_as_none() -> None:
    assert pins.Channel(Broken()).read() == -1


def inputs(rain: int = 1, button: int = 1, load: int = 0) -> pins.Inputs:
    channels = [pins.Channel(Converter([n << 4])) for n in (11, 22, 33, 44)]
    return pins.Inputs(channels, Pin(load), Pin(rain), Pin(button))


def test_every_input_has_its_place() -> None:
    read = inputs(load=1)
    read.read()
    assert (read.battery_n, read.pressure_n, read.frost_n, read.current_n) == (11, 22, 33, 44)
    assert (read.load_on, read.contacts) == (1, 0)


@pytest.mark.parametrize(("rain", "button", "contacts"), [(0, 1, 1), (1, 0, 2), (0, 0, 3)])
def test_contacts_close_to_ground(rain: int, button: int, contacts: int) -> None:
    read = inputs(rain, button)
    assert read.changed()
    read.read()
    assert read.contacts == contacts
    assert not read.changed()


def test_the_relays_have_one_number_on_every_board_and_in_boot() -> None:
    """boot.py cannot read the table; its first statements after the import drive the pins."""
    body = ast.parse((rigs.FIRMWARE / "boot.py").read_text(encoding="utf-8")).body
    assert isinstance(body[1], ast.Import)
    for name, statement in zip(("relay", "second_relay"), body[2:], strict=True):
        [number] = {row[name] for row in pins.TABLE.values()}
        assert ast.unparse(statement) == f"machine.Pin({number}, machine.Pin.OUT, value=0)"


@pytest.mark.parametrize("name", ["rp2", "esp32"])
def test_no_pin_is_used_twice(name: str) -> None:
    row = pins.TABLE[name]
    apart = {"timer", "i2c", "look_ms", "nap_ms_max", "hold_ms", "write_bytes"}
    used = [number for key, number in row.items() if key not in apart and number >= 0]
    assert len(used) == len(set(used))


def test_rows_name_the_same_things() -> None:
    assert len({tuple(sorted(row)) for row in pins.TABLE.values()}) == 1


@pytest.mark.parametrize("name", ["rp2", "esp32"])
def test_a_nap_ends_before_the_watchdog(name: str) -> None:
    """A nap is over at the look that follows its end; then comes a tick, and feeds."""
    row = pins.TABLE[name]
    unfed_ms = row["nap_ms_max"] + row["look_ms"] + watchdog.SLOWEST_TICK_MS
    assert unfed_ms + 1000 <= watchdog.TIMEOUT_MS
    assert row["look_ms"] < watchdog.TIMEOUT_MS // 10, "one sleep of the chip"


def test_a_broken_firmware_can_be_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two seconds pass before anything of the loop is made and the watchdog is armed."""
    order: list[str] = []

    class Time:
        def sleep_ms(self, ms: int) -> None:
            order.append(f"hold {ms}")

    def make(*parts: Any) -> None:
        order.append("loop")
        raise OSError("stop here")

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(board, "Board", make)
    for name in ("rp2", "esp32"):
        with pytest.raises(OSError, match="stop here"):
            board.run(None, Time(), pins.TABLE[name], None, "")
    assert order == ["hold 2000", "loop"] * 2


class Clockwork:
    """A timer whose period passes when the test says so."""

    PERIODIC = 1

    def __init__(self, number: int) -> None:
        self.callback: Any = None

    def init(self, mode: int, period: int, callback: Any, hard: bool = False) -> None:
        assert period <= RENEW_MS
        self.callback = callback


LEVELS = pytest.mark.parametrize("level", [FIRST, SECOND, BOTH])


def levels(both: tuple[Pin, Pin]) -> int:
    """What stands at the pins of both relays."""
    return both[0].level * FIRST + both[1].level * SECOND


@LEVELS
def test_relays_drop_when_not_renewed(level: int) -> None:
    pins = Pin(), Pin()
    now_ms = [MASK - 200]
    relay = output.RelayOutput(*pins)
    made: list[Clockwork] = []

    def timer(number: int) -> Clockwork:
        made.append(Clockwork(number))
        return made[0]

    timer.PERIODIC = 1  # type: ignore[attr-defined]
    relay.watch(timer, -1, lambda: now_ms[0])
    assert relay.drive(level, now_ms[0])
    now_ms[0] = (now_ms[0] + RENEW_MS) & MASK
    made[0].callback(made[0])
    assert levels(pins) == level, "not a tick too early"
    now_ms[0] = (now_ms[0] + 1) & MASK
    made[0].callback(made[0])
    assert levels(pins) == 0
    assert relay.level == 0


@pytest.mark.parametrize("error", [TypeError, ValueError])
def test_a_port_without_hard_timers_gets_a_soft_one(error: type[Exception]) -> None:
    made: list[Clockwork] = []

    class Soft(Clockwork):
        def __init__(self, number: int) -> None:
            super().__init__(number)
            made.append(self)

        def init(self, mode: int, period: int, callback: Any, **more: Any) -> None:
            if more:
                raise error("hard")
            super().init(mode, period, callback)

    for timer, kind in ((Soft, "soft"), (Clockwork, "hard")):
        relay = output.RelayOutput(Pin(), Pin())
        relay.watch(timer, -1, lambda: 0)
        assert relay.timer == kind
    assert made[0].callback is not None


def driven(closed_before: int, level: int, at: int) -> tuple[output.RelayOutput, int, bool]:
    """A tick that is so late that the timer wants to open the relay, and does so before one of
    its byte codes; whether that one came."""
    pins = Pin(), Pin()
    relay = output.RelayOutput(*pins)
    relay._ticks_ms = lambda: 5000
    relay.drive(closed_before, 0)
    steps = 0

    def trace(frame: Any, event: str, _arg: Any) -> Any:
        nonlocal steps
        if frame.f_code is not output.RelayOutput.drive.__code__:
            return None
        frame.f_trace_opcodes = True
        if event == "opcode":
            steps += 1
            if steps == at:
                relay._expire(None)
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        relay.drive(level, 5000)
    finally:
        sys.settrace(before)
    return relay, levels(pins), steps >= at


@pytest.mark.parametrize("closed_before", range(4))
@pytest.mark.parametrize("level", range(4))
def test_the_timer_may_come_between_any_two_steps(closed_before: int, level: int) -> None:
    """The two copies of the wish still agree, and the pin is as the tick wants it."""
    for at in range(1, 200):
        relay, driven_to, came = driven(closed_before, level, at)
        if not came:
            break
        assert relay._wish ^ relay._inverse == output._INVERSE, at
        assert driven_to == relay.level == level, at
    assert 30 < at < 199


@pytest.mark.parametrize("attribute", ["_wish", "_inverse"])
@pytest.mark.parametrize("bit", range(8))
@LEVELS
def test_one_flipped_bit_of_the_wish_opens_the_relays(
    attribute: str, bit: int, level: int
) -> None:
    pins = Pin(), Pin()
    relay = output.RelayOutput(*pins)
    assert relay.drive(level, 0)
    setattr(relay, attribute, getattr(relay, attribute) ^ 1 << bit)
    assert not relay.drive(level, 100)
    assert levels(pins) == 0


@pytest.mark.parametrize("number", [0, 1])
def test_where_a_pin_does_not_follow_both_stay_off(number: int) -> None:
    pins = Pin(stuck=number == 0), Pin(stuck=number == 1)
    relay = output.RelayOutput(*pins)
    relay.drive(BOTH, 0)
    assert relay.failed
    pins[number].stuck = False
    assert levels(pins) == 0
    relay.drive(BOTH, 100)
    assert levels(pins) == 0


class Dog:
    def __init__(self, timeout: int) -> None:
        self.timeout = timeout
        self.feeds = 0

    def feed(self) -> None:
        self.feeds += 1


@pytest.mark.parametrize(
    ("posts", "feeds"),
    [((0, 1, 2), 1), ((0, 1), 0), ((0, 2), 0), ((1, 0, 2), 0), ((0, 1, 2, 2), 0), ((), 0)],
)
def test_only_a_whole_tick_feeds(posts: tuple[int, ...], feeds: int) -> None:
    made: list[Dog] = []

    def make(timeout: int) -> Dog:
        made.append(Dog(timeout))
        return made[0]

    dog = watchdog.Watchdog(make)
    dog.feed()
    assert not made, "not armed yet"
    dog.arm()
    dog.arm()
    for post in posts:
        dog.passed(post)
    dog.feed()
    assert made[0].feeds == feeds
    for post in range(watchdog.POSTS):
        dog.passed(post)
    dog.feed()
    assert made[0].feeds == feeds + 1, "the next whole tick feeds again"


def test_each_state_has_a_lamp_of_its_own() -> None:
    shown = {name: lit_for(state, 120) for state, name in enumerate(STATES)}
    assert len(set(shown.values())) == len(STATES)
    assert list(LAMP) == list(STATES)
    for name, words in LAMP.items():
        turns = words.character * (1 + 120 // len(words.character))
        assert shown[name] == turns[:120], "the page says what the lamp shows"


def lit_for(state: int, tenths: int) -> str:
    pin = Pin()
    light = lamp.Lamp(pin)
    for _ in range(tenths):
        light.show(state)
    return "".join("*" if lit else "." for lit in pin.written)


def test_the_lamp_can_be_counted_from_afar() -> None:
    """As lights at sea are made to be told apart (IALA, rhythmic characters, from memory): groups
    of five at the most, the dark between them three times the gap within, a long flash three times
    a short one. Nobody counts more than three flashes a second."""
    groups: dict[tuple[bool, int], str] = {}
    for name, words in LAMP.items():
        flashes = [tenths for lit, tenths in words.spans if lit]
        gaps = [tenths for lit, tenths in words.spans if not lit]
        assert min(flashes + gaps, default=3) >= 3 or name == "run"
        if len(set(gaps)) < 2 and len(flashes) == 1 and max(gaps, default=0) < 30:
            assert name in ("unset", "check", "prime", "run")  # Nothing to count.
            continue
        long = flashes[0] >= 15
        assert long or flashes[0] <= 5
        assert len(set(flashes)) == 1
        assert len(flashes) <= 5
        assert max(gaps) >= 3 * min(gaps) or len(gaps) == 1
        assert (long, len(flashes)) not in groups, "two states with one count"
        groups[long, len(flashes)] = name
    assert groups == {
        (False, 1): "idle",
        (False, 2): "soak",
        (False, 3): "rest",
        (False, 4): "done",
        (False, 5): "flat",
        (True, 2): "lockout",
    }


def test_another_state_begins_with_its_first_flash() -> None:
    pin = Pin()
    light = lamp.Lamp(pin)
    for _ in range(5):
        light.show(STATES.index("done"))
    light.show(STATES.index("flat"))
    assert pin.written == [1, 1, 1, 0, 0, 1]


@pytest.mark.parametrize("port", ["rp2", "esp32"])
def test_the_lamp_goes_on_in_a_nap(port: str) -> None:
    """A board that waits naps most of the day, and must not look dead."""
    pin = Pin()
    at = [0]
    nap = SimpleNamespace(
        row=pins.TABLE[port],
        lamp=lamp.Lamp(pin),
        keeper=SimpleNamespace(state=STATES.index("flat")),
        machine=SimpleNamespace(lightsleep=lambda ms: at.__setitem__(0, at[0] + ms)),
        serial=SimpleNamespace(attend=lambda: False),
        inputs=SimpleNamespace(changed=lambda: False),
        attached=lambda: False,
        _due_ms=0,
        _now_ms=lambda: at[0],
    )
    nap._left_ms = lambda: nap._due_ms - at[0]
    board.Board._nap(nap, 2000)
    assert at[0] == 2000
    board.Board._nap(nap, 2000)
    shown = "".join("*" if lit else "." for lit in pin.written)
    assert shown == LAMP["flat"].character[:40]


def test_main_turns_the_relay_off_in_finally() -> None:
    text = (rigs.FIRMWARE / "main.py").read_text(encoding="utf-8")
    tree = ast.parse(text)
    blocks = [node for node in ast.walk(tree) if isinstance(node, ast.Try)]
    assert [ast.unparse(block.finalbody[0]) for block in blocks] == ["relay.off()"]
    assert len(Path(rigs.FIRMWARE / "main.py").read_text(encoding="utf-8").splitlines()) < 60
