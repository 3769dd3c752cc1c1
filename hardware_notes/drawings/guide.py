"""The picture of a step: its wires from terminal to terminal, and where the meter's probes go."""

from itertools import groupby

from hardware_notes.building.step import Step
from hardware_notes.building.terminals import PLACES, shown
from hardware_notes.building.wires import KINDS, NUMBER, Wire, wire_between
from hardware_notes.drawings import box, card
from hardware_notes.drawings.svg import Point, Sheet

_WIDTH = 900
_ROW = 30
_LEFT, _RIGHT = 250.0, 610.0
"""Where the wires begin and end."""


def draw(step: Step, number: int) -> bytes:
    """The file of one step."""
    sheet = Sheet(_WIDTH, f"Step {number}: {step.title}")
    sheet.say((20, 30), f"{number}. {step.title}", size=17, bold=True)
    special = {
        "holes": box.holes,
        "box": box.inside,
        "closed": box.closed,
        "post": box.post,
        "post, test fuse": box.post_with_test_fuse,
        "probes": box.probes,
        "strip": box.strip,
        "plug": box.plug,
        "lamp": box.lamp,
        "card supply": card.supply,
        "card inputs": card.inputs,
        "card second": card.second,
        "card flow": card.flow,
        "two relays": box.two_relays,
    }
    if step.picture in special:
        special[step.picture](sheet, 50)
    if step.wires:
        _wires(sheet, [wire_between(*ends) for ends in step.wires])
    if step.checks:
        _checks(sheet, step)
    return sheet.bytes()


def _wires(sheet: Sheet, wires: list[Wire]) -> None:
    top = sheet.bottom + 34
    ends = (([wire.start for wire in wires], 30.0, _LEFT), ([w.end for w in wires], _RIGHT, 830.0))
    for names, low, high in ends:
        row = 0
        for place, run in groupby(names, lambda name: name.partition(".")[0]):
            count = len(list(run))
            y = top + row * _ROW
            sheet.box((low, y + 2), (high, y + count * _ROW - 2), "#f2f2ee", "#777")
            left = low < _LEFT
            label = f"{place}  {PLACES[place].name}"
            sheet.say(
                (low + 8, y + 20) if left else (high - 8, y + 20),
                label,
                "start" if left else "end",
            )
            row += count
    for row, wire in enumerate(wires):
        _one_wire(sheet, wire, top + row * _ROW + _ROW / 2)


def _one_wire(sheet: Sheet, wire: Wire, y: float) -> None:
    kind = KINDS[wire.kind]
    thick = 5.0 if kind.gauge.startswith("12") else 2.5
    sheet.line((_LEFT, y), (_RIGHT, y), kind.ink, thick, dashed=bool(wire.only))
    for x, terminal, align in ((_LEFT - 8, wire.start, "end"), (_RIGHT + 8, wire.end, "start")):
        sheet.disc((x + (8 if align == "end" else -8), y), 5, "white")
        words = shown(terminal)
        if not terminal.startswith("A1."):
            words = terminal.partition(".")[2]
        else:
            words = words.removeprefix("A1 ")
        sheet.say((x, y + 5), words, align, 13, bold=True)
    only = f" ({wire.only})" if wire.only else ""
    words = f"{NUMBER[wire]}: {kind.colour}, {kind.gauge}{only}"
    middle = (_LEFT + _RIGHT) / 2
    half = 3.4 * len(words)
    sheet.box((middle - half, y - 10), (middle + half, y + 9), "white", "white")
    sheet.say((middle, y + 4), words, "middle", 12)


def _checks(sheet: Sheet, step: Step) -> None:
    top = sheet.bottom + 34
    sheet.say((30, top), "Check before you go on: the meter reads", bold=True)
    for row, check in enumerate(step.checks):
        y = top + 28 + row * 36
        sheet.line((190, y), (270, y), "#c22", 2.5)
        sheet.line((330, y), (410, y), "#000", 2.5)
        sheet.box((270, y - 12), (330, y + 12), "#ffe98a", "#000", round_px=8)
        sheet.say((300, y + 5), check.dial, "middle", 13, bold=True)
        _probe(sheet, check.red, (184, y), "end", "#c22")
        _probe(sheet, check.black, (416, y), "start", "#000")
        sheet.say((580, y + 5), check.reads, size=13)


def _probe(sheet: Sheet, terminal: str, at: Point, align: str, ink: str) -> None:
    """A terminal with what it is in small letters below it."""
    place, _, number = terminal.partition(".")
    sheet.say((at[0], at[1] + 1), shown(terminal), align, 13, ink, bold=True)
    words = f"{PLACES[place].name}: {PLACES[place].terminals[number]}"
    if place[0] in "X" or place in ("A1", "M1", "BAT"):
        words = PLACES[place].terminals[number]
    sheet.say((at[0], at[1] + 13), words, align, 9.5, "#555")
