"""The build guide and the wire list as pages: ``python -m hardware_notes.building FOLDER``."""

from collections.abc import Callable

from hardware_notes.building.card import ROWS
from hardware_notes.building.metering import METERING
from hardware_notes.building.second import SECOND
from hardware_notes.building.step import BEEP, DIODE, OHM, VOLT, Step
from hardware_notes.building.steps import STEPS, WITH_ONE_RELAY, needs_of, ratings, totals
from hardware_notes.building.terminals import BOARDS, PLACES, pin_name, shown
from hardware_notes.building.wires import KINDS, NUMBER, WIRES, Wire, wire_between

_MADE = (
    "This page is made from `hardware_notes/building/{source}`; change it there and run `make "
    "notes`."
)

_BEFORE = f"""\
For someone who has wired a lamp, and no controller yet. {len(WITH_ONE_RELAY)} steps, and three
more for a second relay, one for a flow meter: each with a picture, with what the meter must read
**before you go on**, and with what another reading means. Read it once whole, and count the parts,
before you begin. It builds the demonstration site; for your own, `rillkeeper size` gives pump,
cable, fuses and relay, and where its figures differ from those here, **its figures hold**. Nothing
of this has run on silicon yet: the readings are reckoned, not measured.

- **Nothing is joined to the battery before step 11**, and then with a fuse of 1 A. Hand switch off
  first, on last; rings and watches off; the clamps red first on, black first off.
- **A reading that is not as written: stop.** Behind *else* stands the likeliest cause. "It will
  do" burns. A fuse that has blown is never replaced by a larger one.
- **Nobody works alone at the bank**, and no laptop is on mains out there.
- Read [battery](battery.md) and [water](water.md) first: acid, hydrogen, drowning.
- Local codes and licensed practice come before anything written here.

## How to read it

- **X1.4** is screw 4 of strip X1. What every place is: [wires](wires.md#places). Numbers beside a
  wire are those of the [wire list](wires.md): write them on a tag at each end.
- **The meter**: red probe on the first terminal, black on the second. *{BEEP}*: the dial that
  beeps where two points are joined. *{OHM}*: resistance. *{DIODE}*: the diode mark; it shows
  volts. *{VOLT}*: volts with a straight line. **With {BEEP}, {OHM} and {DIODE} the clamps are
  off.**
- **A ferrule** is crimped on each fine-stranded end that goes under a screw. A crimp that a gentle
  pull takes off was none.
- **The card** is a board to solder on, with {ROWS} numbered rows: holes a to e of a row are one
  piece of copper, f to j another, each rail is one. Hold yours against that with the meter first.
- What is not fitted: leave out its wires, and say so in the site file. Fuses F0, F1, F2 sit at the
  battery; F3 and F4 are small resettable ones on the card. The reasons: [the notes](README.md).
- **One relay** is built in steps 1 to {len(WITH_ONE_RELAY)}. A second one in series opens where
  the first has welded: better fit it ([why](relay.md#a-second-relay)), by the last three steps,
  when step 17 is through or at any time later.
"""

_SECOND = """\
Optional; when step 17 is through, best before step 18. What it needs more: the second relay with a
transistor, two resistors (470 Ω and 10 kΩ) and a diode as the first has, a second socket; the wire
is counted in above."""
_METERING = """\
Optional; when step 17 is through, at any time later. What it is good for:
[sensing](sensing.md#flow). What it needs more: on the card two resistors (4.7 kΩ and 1 kΩ) and two
clamp diodes as the others have, 220 kΩ, 6.8 nF; 1.5 m of sensor cable; a sensor strip of fourteen
poles."""
_HEADINGS = {
    SECOND[0].title: ("# For a second relay", _SECOND),
    METERING[0].title: ("# For a flow meter", _METERING),
}
"""What stands above the first step of what is optional."""


def build_page() -> str:
    """The guide."""
    rated = ratings()
    rated = {part: words.replace("](#", "](parts.md#") for part, words in rated.items()}
    rows = ["# Build it", "", _MADE.format(source="steps.py"), "", _BEFORE]
    rows += [
        "## Everything that you need",
        "",
        "Spares are on the [shopping list](shopping.md). Tools: multimeter, soldering iron, "
        "drill, crimping tools for ferrules, contacts and rings, wire stripper, screwdrivers, "
        "goggles.",
        "",
        "| how many | part | rating |",
        "|---|---|---|",
    ]
    rows += [f"| {count} | {part} | {rated[part]} |" for part, count in totals().items()]
    for number, step in enumerate(STEPS, 1):
        if step.title in _HEADINGS:
            heading, words = _HEADINGS[step.title]
            rows += ["", heading, "", words]
        rows += ["", *_step(step, number, rated)]
    return "\n".join(rows) + "\n"


def _step(step: Step, number: int, rated: dict[str, str]) -> list[str]:
    rows = [f"## {number}. {step.title}", ""]
    if step.caution:
        rows += [f"**{step.caution}**" if "](" not in step.caution else step.caution, ""]
    needs = needs_of(step)
    if needs:
        rows += ["| how many | part | rating |", "|---|---|---|"]
        rows += [f"| {n.count} | {n.part} | {n.piece or rated[n.part]} |" for n in needs]
        rows.append("")
    rows += [f"Tools: {step.tools}.", ""]
    rows += [f"{count}. {sentence}" for count, sentence in enumerate(step.do, 1)]
    rows += ["", f"![step {number}](pictures/step_{number:02}.svg)", ""]
    if step.wires:
        rows += ["| wire | from | to | gauge | colour | about |", "|---|---|---|---|---|---|"]
        rows += [_wire(wire_between(*ends)) for ends in step.wires]
        rows.append("")
    rows += ["**Check before you go on" + (": the meter reads**" if step.checks else "**"), ""]
    for check in step.checks:
        where = f"red on {shown(check.red)}, black on {shown(check.black)}"
        if check.dial == BEEP:
            where = f"{shown(check.red)} and {shown(check.black)}"
        rows.append(f"- {check.dial}, {where}: **{check.reads}**. *Else:* {check.wrong}.")
    rows += [f"- {words}" for words in step.also]
    return rows


def _wire(wire: Wire) -> str:
    only = f" ({wire.only} only)" if wire.only else ""
    cells = (
        f"{NUMBER[wire]}{only}",
        shown(wire.start),
        shown(wire.end),
        wire.gauge,
        wire.colour,
        f"{wire.length_m:g} m",
    )
    return "| " + " | ".join(cells) + " |"


def wires_page() -> str:
    """The wire list."""
    rows = [
        "# Wire list",
        "",
        _MADE.format(source="wires.py"),
        "",
        "**Battery off while you work on any of these.** The pins are those of the firmware's "
        "own table; a test holds the guide, its pictures and this list together. Lengths are "
        "hints: measure, and add a loop below each gland. Thick wire is for the demonstration "
        "site's fuse of 25 A; yours may need more ([wiring](wiring.md#the-pump-cable)).",
        "",
        "| wire | from | to, RP2040 class | to, ESP32 | carries | gauge | colour | about | "
        "cable | only with |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    rows += [_row(wire) for wire in WIRES]
    rows += [
        "",
        "Colours go by what a wire carries. A cable that is bought has colours of its own: "
        "write them down beside the number. **Green with yellow is the protective earth of the "
        "mains and is nowhere in this box.**",
        "",
        "| colour | carries | gauge |",
        "|---|---|---|",
    ]
    rows += [f"| {kind.colour} | {kind.carries} | {kind.gauge} |" for kind in KINDS.values()]
    rows += [
        "",
        "## Places",
        "",
        "| place | what it is | terminals |",
        "|---|---|---|",
    ]
    for name, place in PLACES.items():
        terminals = "; ".join(f"{number} {words}" for number, words in place.terminals.items())
        rows.append(f"| {name} | {place.name} | {_pins() if name == 'A1' else terminals} |")
    return "\n".join(rows) + "\n"


def _row(wire: Wire) -> str:
    to = [pin_name(wire.end, b) if wire.end.startswith("A1.") else wire.end for b in BOARDS]
    start = shown(wire.start)
    if wire.only in BOARDS.values():
        to = [end if wire.only == BOARDS[b] else "none" for end, b in zip(to, BOARDS, strict=True)]
    if wire.end.startswith("A1."):
        to = [end if end == "none" else f"A1 {end}" for end in to]
    cells = (
        str(NUMBER[wire]),
        start,
        *to,
        KINDS[wire.kind].carries,
        wire.gauge,
        wire.colour,
        f"{wire.length_m:g} m",
        wire.cable,
        wire.only,
    )
    return "| " + " | ".join(cells) + " |"


def _pins() -> str:
    """The pins of either board, by what they are for."""
    return "by what is printed beside its pin, on either board: " + ", ".join(
        f"{name} {shown(f'A1.{name}').removeprefix('A1 ')}" for name in PLACES["A1"].terminals
    )


PAGES: dict[str, Callable[[], str]] = {"build.md": build_page, "wires.md": wires_page}
