"""What a person at the virtual board's site can put a hand on: a row each.

The words of a row are what is said on the command line; the first is how a site is built. A key
steps through some of them in the board's own window.
"""

from dataclasses import dataclass
from typing import Any

from rillsim.boards.sensors import BATTERY, CURRENT, FROST, PRESSURE
from rillsim.handled import NO_LEAD, OVER_ALL, OVER_FIRST, Handled
from rillsim.site import Site

A_LITTLE = 0.86
"""A tap that is shut so far shows a weaker spray, and trips nothing at once (own choice)."""


@dataclass(frozen=True)
class Hand:
    """One thing that can be handled."""

    name: str
    thing: str
    """In a sentence."""
    field: str
    """Of ``Handled``; empty where it is done in a moment and leaves no state."""
    words: dict[str, tuple[Any, str]]
    """Word -> what the field then holds, and the sentence that tells so."""
    keys: dict[str, tuple[str, ...]]
    """Key -> the words that it steps through."""
    channel: int | None = None
    """Whose plug it is, in the field ``unplugged``."""
    share: str = ""
    """Where a share may be said in place of a word: of what, and the sentence with it."""
    length: str = ""
    """The same for a height of water."""
    needs: str = ""
    """What the site's board must have for it."""

    def is_there(self, site: Site) -> bool:
        """Whether this site has it."""
        return not self.needs or bool(getattr(site.board, self.needs))

    def value_of(self, handled: Handled) -> Any:
        """How it is now, as its field holds it."""
        if self.channel is not None:
            return self.channel in handled.unplugged
        return getattr(handled, self.field) if self.field else None

    def word_of(self, handled: Handled) -> str:
        """The same as one of its words; a share or a height in figures."""
        now = self.value_of(handled)
        for word, (value, _) in self.words.items():
            if value == now and self.field:
                return word
        if self.share:
            return f"{100.0 * now:.0f} %"
        return f"{now:.0f} Pa" if self.length and now is not None else ""


def _plug(
    name: str, thing: str, field: str, key: str, *, channel: int | None = None, needs: str = ""
) -> Hand:
    words = {
        "in": (False, f"The {thing} is in."),
        "out": (True, f"The {thing} is out."),
    }
    return Hand(name, f"the {thing}", field, words, {key: ("out", "in")}, channel, needs=needs)


# fmt: off
HANDS = (
    Hand("tap", "the tap at the outlet", "tap",
         {"open": (1.0, "The tap at the outlet is open."),
          "part": (A_LITTLE, "The tap at the outlet is shut a little."),
          "shut": (0.0, "The tap at the outlet is shut.")},
         {"t": ("shut", "open"), "T": ("part", "open")},
         share="The tap at the outlet is open to {}."),
    Hand("tee", "the tap of the tee in the line", "tee",
         {"shut": (0.0, "The tap of the tee is shut."),
          "part": (0.5, "The tap of the tee is half open: water runs out of it."),
          "open": (1.0, "The tap of the tee is open: the water runs out of it.")},
         {"e": ("open", "shut")}, share="The tap of the tee is open to {}."),
    Hand("strainer", "the strainer", "strainer_out",
         {"in": (False, "The strainer is under water."),
          "out": (True, "The strainer is out of the water.")},
         {"s": ("out", "in")}),
    Hand("suction", "the pump's suction", "suction_in_bucket",
         {"line": (False, "The pump draws through its suction line."),
          "bucket": (True, "The pump draws by a short hose from a full bucket beside it.")},
         {"k": ("bucket", "line")}),
    Hand("mesh", "the mesh of the strainer", "mesh",
         {"clear": (0.0, "The mesh of the strainer is clear."),
          "blocked": (0.95, "The mesh of the strainer is blocked.")},
         {"m": ("blocked", "clear")}, share="{} of the strainer's mesh is blocked."),
    Hand("switch", "the hand switch", "switched_off",
         {"on": (False, "The hand switch is on."),
          "off": (True, "The hand switch is off: nothing feeds the pump.")},
         {"h": ("off", "on")}),
    Hand("battery", "the battery", "battery_off",
         {"on": (False, "The battery is on."),
          "off": (True, "The battery is off: only a computer's cable feeds the board now."),
          "charged": (None, "A charged battery is on.")},
         {"b": ("off", "on"), "B": ("charged",)}),
    Hand("fuse", "the main fuse", "",
         {"new": (None, "A sound main fuse is in.")}, {"f": ("new",)}),
    Hand("power", "the board's own fuse and the USB cable", "power_out",
         {"in": (False, "The board's own fuse and the USB cable are in."),
          "out": (True, "The board's own fuse and the USB cable are out: the board is dark.")},
         {"o": ("out", "in")}),
    Hand("reset", "the board's reset", "",
         {"press": (None, "The board is held in reset for ten seconds.")}, {"x": ("press",)}),
    Hand("button", "the button", "",
         {"press": (None, "The button is pressed for a moment."),
          "hold": (None, "The button is held for four seconds.")},
         {"u": ("press",), "U": ("hold",)}, needs="button_fitted"),
    Hand("rain", "the rain contact", "rain_wet",
         {"dry": (False, "The rain contact is dry."),
          "wet": (True, "The rain contact is wet.")},
         {"r": ("wet", "dry")}, needs="rain_fitted"),
    Hand("ice", "ice water at the frost sensor", "iced",
         {"off": (False, "The frost sensor hangs in the air."),
          "on": (True, "The frost sensor is in ice water.")},
         {"i": ("on", "off")}, needs="frost_fitted"),
    _plug("pump-plug", "plug of the pump", "pump_out", "p"),
    _plug("pressure-plug", "plug of the pressure sensor", "unplugged", "1", channel=PRESSURE,
          needs="pressure_fitted"),
    _plug("battery-plug", "plug of the battery sense", "unplugged", "2", channel=BATTERY,
          needs="battery_fitted"),
    _plug("frost-plug", "plug of the frost sensor", "unplugged", "3", channel=FROST,
          needs="frost_fitted"),
    _plug("current-plug", "plug of the current sensor", "unplugged", "4", channel=CURRENT,
          needs="current_fitted"),
    _plug("meter-plug", "plug of the flow meter", "meter_out", "0", needs="flow_fitted"),
    Hand("tub", "the tub at the strainer", "",
         {"fill": (None, "The tub is full up to its mark.")}, {"w": ("fill",)},
         needs="flow_fitted"),
    _plug("sense-plug", "plug of the load-side sense", "sense_out", "5",
          needs="load_sense_fitted"),
    _plug("coil-plug", "plug of the relay's coil", "coil_out", "6"),
    _plug("clock-plug", "plug of the clock chip", "clock_out", "7", needs="clock_backed"),
    _plug("pin-wire", "wire at the board's pin of the relay", "pins_out", "8"),
    Hand("sensor-wires", "battery sense and pressure sensor at the board", "exchanged",
         {"right": (False, "Battery sense and pressure sensor are each in their own place."),
          "exchanged": (True, "Battery sense and pressure sensor are exchanged.")},
         {"9": ("exchanged", "right")}),
    Hand("sensor-hose", "the hose of the pressure sensor", "transducer_pa",
         {"on": (None, "The hose of the pressure sensor is on the line."),
          "off": (0.0, "The hose is off the pressure sensor, its port dry.")},
         {"g": ("off", "on")}, needs="pressure_fitted",
         length="A hose is on the pressure sensor and held up, with {} of water in it."),
    Hand("lead", "the test lead", "lead",
         {"off": (NO_LEAD, "The test lead is off."),
          "first": (OVER_FIRST, "The test lead is over the contact of the first relay."),
          "over": (OVER_ALL, "The test lead is over the relay: its contact is bridged.")},
         {"j": ("over", "off"), "J": ("first", "off")}),
)
# fmt: on
BY_NAME = {hand.name: hand for hand in HANDS}
KEYS = {key: (hand, words) for hand in HANDS for key, words in hand.keys.items()}
