"""The hands on a virtual board's site: each does what it says, by word and by key."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from keeper.hand import LONG_MS
from keeper.relay import FIRST
from rillkeeper.board.virtual.hand_table import BY_NAME, HANDS, KEYS
from rillkeeper.board.virtual.site_hands import HOLD_S, LIST_KEY, LOOK_KEY, SiteHands
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.site.file import demo_site
from rillsim.handled import Handled, HandledPlant
from rillsim.site import Site
from rillsim.timeline import NEVER

EVERYTHING = {"current_fitted": True, "second_relay_fitted": True, "flow_fitted": True}
NOTHING = {hand.needs: False for hand in HANDS if hand.needs}


@cache
def site_with(**board: bool) -> Site:
    site = replace(demo_site(), faults=(), battery_trips=())
    return replace(site, board=replace(site.board, **board))


def at_the_site(told: list[str] | None = None, **board: bool) -> SiteHands:
    """Hands on a site at its first tick."""
    tell: Callable[[str], Any] = [].append if told is None else told.append
    hands = SiteHands(site_with(**board), tell=tell)
    hands.join(HandledPlant(hands.site, 1))
    hands.act(0)
    return hands


@pytest.mark.parametrize("name", BY_NAME)
def test_each_word_leaves_the_thing_as_it_says(name: str) -> None:
    """There and back, word by word: the site is in the end as it was built."""
    hand, told = BY_NAME[name], list[str]()
    hands = at_the_site(told, **EVERYTHING)
    for turn, (word, (value, sentence)) in enumerate(reversed(hand.words.items()), start=1):
        hands.act(200 * turn)
        hands.do(name, word)
        assert told[-1] == sentence
        if value is not None and hand.field:
            assert hand.word_of(hands.plant.handled) == word
    hands.act(1000)
    assert hands.plant.handled == Handled()
    assert len(told) == len(hand.words)


def test_the_first_word_of_each_is_a_site_as_it_was_built() -> None:
    for hand in HANDS:
        if hand.field:
            assert hand.word_of(Handled()) == next(iter(hand.words)), hand.name


def test_no_key_means_two_things_and_each_is_a_word() -> None:
    keys = [key for hand in HANDS for key in hand.keys]
    assert len({*keys, LOOK_KEY, LIST_KEY}) == len(keys) + 2
    for hand, words in KEYS.values():
        assert set(words) <= set(hand.words)


def test_a_key_steps_there_and_back() -> None:
    told: list[str] = []
    hands = at_the_site(told)
    for n, key in enumerate("ttTt??", start=1):
        hands.act(n)
        shown = hands.press_key(key)
        assert bool(shown) == (key == "?")
    assert told == [
        "The tap at the outlet is shut.",
        "The tap at the outlet is open.",
        "The tap at the outlet is shut a little.",
        "The tap at the outlet is shut.",
    ]
    assert any(line.startswith("  the tap at the outlet (shut): t shut / open") for line in shown)
    assert hands.press_key("z") == ['"z" moves nothing; ? lists the keys']
    assert hands.press_key("\x1b") == []
    assert hands.press_key("4") == ["this site has no current sensor"]
    assert not any("current sensor" in line for line in hands.press_key("?"))


def test_what_the_site_has_not_is_named() -> None:
    hands = at_the_site(**NOTHING)
    assert {row["hand"] for row in hands.listed()} == {one.name for one in HANDS if not one.needs}
    for name, thing in {
        "rain": "rain contact",
        "ice": "frost sensor",
        "button": "button",
        "clock-plug": "clock chip",
        "sensor-hose": "pressure sensor",
        "sense-plug": "load-side sense",
    }.items():
        with pytest.raises(RillkeeperError, match=f"^this site has no {thing}$"):
            hands.do(name, "out")


def test_words_that_nobody_knows() -> None:
    hands = at_the_site()
    with pytest.raises(UsageMistake, match='no hand for "tapp"; did you mean tap'):
        hands.do("tapp", "shut")
    with pytest.raises(UsageMistake, match='tap cannot be "closed"; it can be open, part, shut'):
        hands.do("tap", "closed")
    for how in ("140%", "4m", "%", "-3%"):
        with pytest.raises(UsageMistake):
            hands.do("tap", how)
    with pytest.raises(UsageMistake, match="pump-plug cannot be"):
        hands.do("pump-plug", "40%")


def test_a_share_and_a_height_of_water() -> None:
    hands = at_the_site()
    assert hands.do("tap", "62.5 %") == "The tap at the outlet is open to 62.5 %."
    assert hands.plant.handled.tap == 0.625
    hands.act(1)
    said = hands.do("sensor-hose", "4m")
    assert said == "A hose is on the pressure sensor and held up, with 4.0 m of water in it."
    # 998.2 kg/m3 at 20 C (CRC Handbook of Chemistry and Physics, from memory) by 9.80665 m/s2.
    assert hands.plant.handled.transducer_pa == pytest.approx(4 * 998.2 * 9.80665, rel=0.003)


def test_what_is_so_already_is_left_alone() -> None:
    hands = at_the_site()
    assert hands.do("tap", "open") == "It is so already: the tap at the outlet is open."


def test_a_press_is_short_and_a_hold_is_long_enough() -> None:
    assert HOLD_S * 1000 > LONG_MS
    hands = at_the_site()
    for how, ticks in (("press", 4), ("hold", 40)):
        assert hands.act(100) == NEVER
        hands.do("button", how)
        assert hands.act(101) == 100 + ticks, "nobody naps over that"
        assert hands.plant.button
        assert hands.act(100 + ticks - 1) == 100 + ticks
        assert hands.plant.button
        assert hands.act(100 + ticks) == NEVER
        assert not hands.plant.button


def test_a_reset_is_ten_seconds_without_power() -> None:
    hands = at_the_site()
    hands.do("reset", "press")
    assert not hands.plant.board_powered
    assert hands.act(1) == 100
    hands.act(100)
    assert hands.plant.board_powered


def test_a_look_tells_what_meter_eye_and_ear_tell() -> None:
    hands = at_the_site()
    plant = hands.plant
    plant.read(10)
    plant.drive(10, FIRST)
    for n in range(11, 301):
        hands.act(n)
        plant.read(n)
    seen = "\n".join(hands.look())
    volts = f"{plant.truth(300).board_v:.2f} V"
    assert f"(X1.2 and X2.1): {volts}." in seen
    assert f"pump's plug: +{volts}; a lamp there is lit." in seen
    assert "Pump: runs and takes " in seen
    assert "25 A is printed on it." in seen
    assert "29.0 s ago the relay clicks and is closed; 29.0 s ago the pump starts" in seen
    hands.do("switch", "off")
    hands.act(302)
    seen = "\n".join(hands.look())
    assert "(X1.2 and X2.1): 0.00 V." in seen
    assert "+0.00 V; a lamp there is dark." in seen
    assert "Since the last look: 0.2 s ago the pump falls silent." in seen
    assert "nothing has clicked" in hands.look()[-1]


def test_a_warm_joint_is_felt() -> None:
    hands = at_the_site()
    assert "Joints: all as cold as the cable." in hands.look()
    hands.plant.wrong.added_ohm = 0.25
    assert "Joints: one is warm." in hands.look()
