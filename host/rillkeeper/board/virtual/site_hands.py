"""Hands on the site of a virtual board: what a person does there, and what is seen and heard."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import Any, Protocol

from rillkeeper.board.proof.calibrate import head_pa
from rillkeeper.board.virtual.hand_table import BY_NAME, HANDS, KEYS, Hand
from rillkeeper.display_units import Shown
from rillkeeper.errors import RillkeeperError, UsageMistake
from rillkeeper.units import UnitError, parse
from rillsim.boards.sensors import FROST
from rillsim.handled import HandledPlant
from rillsim.replay import TICKS_PER_S
from rillsim.site import Site
from rillsim.timeline import NEVER

PRESS_S = 0.4
HOLD_S = 4.0
"""Longer than the board asks for a long press (``keeper.hand``)."""
RESET_S = 10.0
WARM_OHM = 0.03
"""A joint that has so much more than a sound one is felt: a watt or two (own choice)."""
LAMP_V = 6.0
"""A lamp for 12 V glows above this (own choice)."""
LOOK_KEY, LIST_KEY = "l", "?"


class Source(Protocol):
    """Where people say what they do."""

    def poll(self, hands: "SiteHands") -> None:
        """Have done what was said since the last time."""


class SiteHands:
    """What a replay asks of people (``rillsim.replay.Hands``)."""

    def __init__(
        self,
        site: Site,
        speed: float = 1.0,
        *,
        sources: Sequence[Source] = (),
        attached: Callable[[], bool] = lambda: False,
        tell: Callable[[str], None] = lambda sentence: None,
    ) -> None:
        """Hands on a site.

        Parameters
        ----------
        site : Site
            What there is to be handled
        speed : float
            Simulated seconds in one second, for whoever asks
        sources : sequence of Source
            Asked at each tick what people want
        attached : callable
            Whether a computer's cable is in the board
        tell : callable
            Is told each thing that was done
        """
        self.site = site
        self.speed = speed
        self.plant: HandledPlant
        self._sources = sources
        self._attached = attached
        self._tell = tell
        self._n = 0
        self._later: list[tuple[int, Callable[[int], None]]] = []
        self._shown = Shown(site.units)
        self._full_m3 = 0.0
        """Taken from the source when the tub was last full."""

    def join(self, plant: HandledPlant) -> None:
        """This is the site."""
        self.plant = plant

    def act(self, n: int) -> int:
        """Do what is to be done at tick ``n``; returns the tick of what comes next."""
        self._n = n
        self.plant.attach(n, self._attached())
        due = [act for at_n, act in self._later if at_n <= n]
        self._later = [(at_n, act) for at_n, act in self._later if at_n > n]
        for act in due:
            act(n)
        for source in self._sources:
            source.poll(self)
        return min((at_n for at_n, _ in self._later), default=NEVER)

    def do(self, name: str, how: str) -> str:
        """Do one thing and tell it. Raises UsageMistake, and RillkeeperError for what this site
        has not."""
        hand = self._find(name)
        before = self.plant.handled
        value, sentence = _meant(hand, how, self._shown)
        if hand.channel is not None:
            kept = before.unplugged - {hand.channel}
            off = kept | {hand.channel} if value else kept
            self.plant.handle(self._n, replace(before, unplugged=off))
        elif (hand.name, how) in _MOMENTS:
            _MOMENTS[hand.name, how](self)
        elif hand.value_of(before) == value:
            sentence = f"It is so already: {sentence[0].lower()}{sentence[1:]}"
        else:
            changed: dict[str, Any] = {hand.field: value}
            self.plant.handle(self._n, replace(before, **changed))
        self._tell(sentence)
        return sentence

    def press_key(self, key: str) -> list[str]:
        """A key of the window; what is to be shown besides what was done."""
        if key == LOOK_KEY:
            return self.look()
        if key == LIST_KEY:
            return [*(self._key_line(hand) for hand in HANDS if hand.is_there(self.site)), _LOOKS]
        if key not in KEYS:
            return [f'"{key}" moves nothing; {LIST_KEY} lists the keys'] * key.isprintable()
        hand, words = KEYS[key]
        now = hand.word_of(self.plant.handled)
        after = words[(words.index(now) + 1) % len(words)] if now in words else words[0]
        try:
            self.do(hand.name, after)
        except RillkeeperError as refusal:
            return [str(refusal)]
        return []

    def listed(self) -> list[dict[str, Any]]:
        """What there is to be handled here, and how each thing is."""
        return [
            {
                "hand": hand.name,
                "thing": hand.thing,
                "now": hand.word_of(self.plant.handled),
                "can_be": list(hand.words),
                "also": _also(hand),
                "keys": list(hand.keys),
            }
            for hand in HANDS
            if hand.is_there(self.site)
        ]

    def look(self) -> list[str]:
        """What meter, gauge, eye and ear tell a person at the site."""
        plant, n = self.plant, self._n
        plant.read(n)
        truth, text, shut_off = plant.truth(n), self._shown.text, plant.rig.switched_off
        volts = 0.0 if shut_off or plant.rig.fuse_blown else truth.board_v
        load_v = volts if plant.pump_wired else 0.0
        board = plant.site.board
        pump = f"runs and takes {truth.current_a:.1f} A" if truth.current_a > 0.0 else "stands"
        burnt = ", and it has melted" if plant.rig.fuse_blown else ""
        filled = f"{truth.filled_share:.0%} full of water"
        flow = text(truth.flow_m3_s, "flow") if truth.flow_m3_s > 0.0 else "no water"
        reach = f", the spray reaches {text(truth.throw_m, 'length')}" if truth.throw_m else ""
        circuit = plant.rig.circuit
        posts_v = truth.board_v + (truth.current_a + circuit.board_a) * circuit.wiring_ohm
        plug_v = load_v - truth.current_a * circuit.contact_ohm if load_v else 0.0
        lines = [
            f"Meter at the battery's posts: {posts_v:.2f} V; in the pump's plug under load: "
            f"{plug_v:+.2f} V.",
            f"Meter at the battery side of the relay (X1.2 and X2.1): {volts:.2f} V.",
            f"Meter at the load side of the relay, or in the pump's plug: {load_v:+.2f} V; a lamp "
            f"there is {'lit' if load_v > LAMP_V else 'dark'}.",
            f"Pump: {'its plug is out' if plant.handled.pump_out else pump}.",
            f"Gauge at the pump's outlet: {text(truth.pressure_pa, 'pressure')}.",
            f"Nozzle: {flow}{reach}. Suction line: {filled}.",
            f"Main fuse: {plant.site.cable.fuse_a:g} A is printed on it{burnt}.",
            f"Joints: {'one is warm' if self._has_warm_joint() else 'all as cold as the cable'}.",
        ]
        if board.frost_fitted:
            lines.append(f"Air at the frost sensor: {self._air_text()}.")
        if board.flow_fitted:
            litres = 1e3 * (self._taken_m3() - self._full_m3)
            lines.append(f"Tub: {litres:.2f} L fill it up to its mark.")
        if board.rain_fitted:
            lines.append(f"Rain contact: {'wet' if plant.counts[3] & 1 else 'dry'}.")
        return [*lines, self._heard()]

    def _find(self, name: str) -> Hand:
        if name not in BY_NAME:
            near = get_close_matches(name, BY_NAME, n=1)
            hint = f"did you mean {near[0]}?" if near else "see: rillkeeper hand --list"
            raise UsageMistake(f'there is no hand for "{name}"; {hint}')
        hand = BY_NAME[name]
        if not hand.is_there(self.site):
            bare = re.sub(r"^(the )?((plug of|hose of|ice water at) the )?", "", hand.thing)
            raise RillkeeperError(f"this site has no {bare}")
        return hand

    def _key_line(self, hand: Hand) -> str:
        keys = ", ".join(f"{key} {' / '.join(words)}" for key, words in hand.keys.items())
        now = hand.word_of(self.plant.handled)
        return f"  {hand.thing}{f' ({now})' if now else ''}: {keys}"

    def _heard(self) -> str:
        """What has happened since the last look, and how long ago."""
        seen = self.plant.seen
        parts = [f"{(self._n - n) / TICKS_PER_S:.1f} s ago {words}" for n, words in seen]
        seen.clear()
        return f"Since the last look: {'; '.join(parts) or 'nothing has clicked or started'}."

    def _air_text(self) -> str:
        sensors = self.plant.sensors
        air_c = (self.plant.counts[4] - sensors.offset[FROST]) / sensors.gain[FROST]
        return self._shown.text(air_c, "temperature")

    def _has_warm_joint(self) -> bool:
        now = self.plant.wrong
        return now.added_ohm + now.contact_added_ohm > WARM_OHM

    # Things that are done in a moment.

    def _after(self, seconds: float, act: Callable[[int], None]) -> None:
        self._later.append((self._n + round(seconds * TICKS_PER_S), act))

    def _press(self, seconds: float) -> None:
        self.plant.button = True
        self._after(seconds, self._let_go)

    def _let_go(self, n: int) -> None:
        self.plant.button = False

    def _taken_m3(self) -> float:
        return self.plant.totals["taken_m3"]

    def _fill_tub(self) -> None:
        self._full_m3 = self._taken_m3()

    def _reset(self) -> None:
        plant = self.plant
        plant.handle(self._n, replace(plant.handled, power_out=True))
        self._after(RESET_S, lambda n: plant.handle(n, replace(plant.handled, power_out=False)))


_LOOKS = f"  {LOOK_KEY} looks: meter, gauge, eye and ear; {LIST_KEY} lists the keys; Ctrl-C ends"
_MOMENTS: dict[tuple[str, str], Callable[[SiteHands], None]] = {
    ("battery", "charged"): lambda hands: hands.plant.bring_battery(hands._n, 1.0),
    ("fuse", "new"): lambda hands: hands.plant.renew_fuse(hands._n),
    ("button", "press"): lambda hands: hands._press(PRESS_S),
    ("button", "hold"): lambda hands: hands._press(HOLD_S),
    ("tub", "fill"): lambda hands: hands._fill_tub(),
    ("reset", "press"): lambda hands: hands._reset(),
}


def _meant(hand: Hand, how: str, shown: Shown) -> tuple[Any, str]:
    """The value of a word, a share or a height, and the sentence that tells it."""
    if how in hand.words:
        return hand.words[how]
    figure = re.fullmatch(r"(\d+(?:[.,]\d+)?) ?%", how)
    if hand.share and figure and float(figure[1].replace(",", ".")) <= 100.0:
        share = float(figure[1].replace(",", ".")) / 100.0
        return share, hand.share.format(f"{100.0 * share:g} %")
    if hand.length:
        try:
            height_m = parse(how, "length")
            return head_pa(height_m), hand.length.format(shown.text(height_m, "length"))
        except UnitError:
            pass
    raise UsageMistake(f'{hand.name} cannot be "{how}"; it can be {", ".join(_can_be(hand))}')


def _can_be(hand: Hand) -> list[str]:
    return [*hand.words, *_also(hand)]


def _also(hand: Hand) -> list[str]:
    """What may be said in place of a word, by an example."""
    return ["40%"] * bool(hand.share) + ["4m"] * bool(hand.length)
