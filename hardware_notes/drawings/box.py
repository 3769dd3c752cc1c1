"""The box: holes in its underside, what sits where inside, the battery's post, the test lamp."""

from hardware_notes.drawings.svg import Sheet

_GLANDS = (
    (40, "M20", "W1", "battery, thick"),
    (85, "M12", "W2", "board's feed"),
    (130, "M20", "W3", "pump"),
    (180, "M12", "W4", "transducer"),
    (210, "M12", "W5", "frost"),
    (240, "M12", "W6", "rain"),
    (275, "M12", "", "vent"),
)
"""Middle of each hole [mm from the left wall], thread, cable, what comes there."""
_HOLE_MM = {"M20": 20.5, "M12": 12.5}
_RED, _BLACK, _BROWN = "#c22", "#000", "#8a5223"


def holes(sheet: Sheet, top: float) -> None:
    """The underside, seen from below, front up."""
    scale, left = 2.5, 50.0
    sheet.say(
        (left, top + 10),
        "The underside, 300 mm wide, seen from below, the front up; a row in its middle",
    )
    low, high = top + 24, top + 24 + 110
    sheet.box((left, low), (left + 300 * scale, high), "#f2f2ee")
    for at_mm, thread, cable, words in _GLANDS:
        x, y = left + at_mm * scale, (low + high) / 2
        sheet.disc((x, y), _HOLE_MM[thread] * scale / 2, "white")
        sheet.say((x, y + 5), thread, "middle", 11, bold=True)
        sheet.say((x, low + 20), cable, "middle", 13, bold=True)
        sheet.say((x, high - 10), f"{at_mm} mm", "middle", 11)
        sheet.say((x, high + 18), words, "middle", 11)
    sheet.say(
        (left, high + 48),
        "M20: hole 20.5 mm, for a cable of 6 to 12 mm.   M12: hole 12.5 mm, for 3 to 6.5 mm.\n"
        "Distances are from the left wall to the middle of the hole. Read your glands' own sheet.",
    )


_INSIDE = (
    (10, 12, 62, 62, "S1", "hand switch, in the lid", True),
    (76, 12, 98, 34, "S4", "button", True),
    (10, 78, 62, 130, "K1", "relay in its socket,\nterminals down", False),
    (10, 160, 72, 192, "X1", "1  2  3  4  5  6", False),
    (80, 160, 112, 192, "X2", "1 2 3 4", False),
    (120, 160, 192, 192, "X3", "1  to  12", False),
    (72, 92, 118, 130, "K2", "second relay,\nif any", False),
    (76, 37, 118, 60, "U1", "converter", False),
    (76, 62, 118, 85, "U2", "clock", False),
    (130, 12, 186, 110, "A1", "board in its\nscrew adapter", False),
    (204, 12, 272, 192, "card", "X4 and X6\nat this edge", False),
)
"""Left, top, right, bottom [mm], name, words, whether it sits in the lid."""


def inside(sheet: Sheet, top: float) -> None:
    """The plate, lid off: thick wires at the left, small ones at the right."""
    scale, left = 2.5, 50.0
    sheet.say((left, top + 10), "The plate, 300 x 220 mm, lid off. Dashed: in the lid, above.")
    low = top + 22
    sheet.box((left, low), (left + 300 * scale, low + 220 * scale), "#f7f7f3")
    for x0, y0, x1, y1, name, words, in_lid in _INSIDE:
        corner = (left + x0 * scale, low + y0 * scale)
        far = (left + x1 * scale, low + y1 * scale)
        sheet.box(corner, far, "white", dashed=in_lid)
        middle = (corner[0] + far[0]) / 2
        sheet.say((middle, corner[1] + 20), name, "middle", 15, bold=True)
        if name == "card":
            sheet.say((corner[0] + 6, corner[1] + 60), words, size=11)
            sheet.say((far[0] - 6, corner[1] + 110), "X5\nat this edge", "end", 11)
            sheet.say((middle, corner[1] + 160), "row 1 above,\nrow 60 below", "middle", 11)
        else:
            sheet.say((middle, corner[1] + 40), words, "middle", 11)
    for at_mm, thread, cable, words in _GLANDS:
        x, y = left + at_mm * scale, low + 220 * scale
        half = _HOLE_MM[thread] * scale / 2
        sheet.box((x - half, y - 4), (x + half, y + 18), "#ddd")
        sheet.say((x, y + 36), f"{cable} {words}".strip(), "middle", 10)
    sheet.say((left + 12, low + 208 * scale), "10 mm free round a relay; thick wires on this side")


def closed(sheet: Sheet, top: float) -> None:
    """From outside: loops, ties, labels."""
    low, left, right = top + 20, 180.0, 680.0
    bottom = low + 210
    sheet.box((left, low), (right, bottom), "#f2f2ee", round_px=10)
    sheet.disc((left + 110, low + 90), 38, "white")
    sheet.line((left + 110, low + 62), (left + 110, low + 118), thick=8)
    sheet.say((left + 110, low + 42), "ON", "middle", bold=True)
    sheet.say((left + 164, low + 95), "OFF", bold=True)
    sheet.say((left + 110, low + 152), "hand switch S1\noff first, on last", "middle")
    sheet.disc((left + 240, low + 90), 14, "white")
    sheet.say((left + 240, low + 126), "S4", "middle")
    sheet.box((left + 300, low + 50), (right - 30, low + 140), "white")
    sheet.say(
        (left + 312, low + 74),
        "12 V from a battery\nF1 25 A   F2 1 A\nnot for drinking",
        size=14,
    )
    for number, (_, _, cable, _) in enumerate(_GLANDS[:-1]):
        x = left + 50 + number * 80
        sheet.box((x - 12, bottom), (x + 12, bottom + 16), "#ccc")
        out = x - 60 if number < 3 else x + 60
        sheet.curve(
            (x, bottom + 16), (x, bottom + 110), (out, bottom + 110), (out, bottom + 50), thick=4
        )
        sheet.say((x + (14 if number < 3 else -14), bottom + 34), cable, "middle", 12)
    sheet.line((left - 60, bottom + 50), (right + 30, bottom + 50), _BROWN, 6)
    sheet.say((left - 60, bottom + 130), "Loops hang lower than the glands: drops fall off there.")
    sheet.say(
        (left - 60, bottom + 150), "Each cable is tied to something solid (brown) behind it."
    )


def post(sheet: Sheet, top: float) -> None:
    """The bolt of the red clamp, with the places of the fuses: nothing is in them yet."""
    _post(sheet, top, "main fuse: empty", "board fuse: empty")
    note = "F0 and F2 on the bolt of the red clamp; F1 on the far bolt of F0."
    sheet.say((40, top + 186), note)


def post_with_test_fuse(sheet: Sheet, top: float) -> None:
    """The same with the fuses of the first power."""
    _post(sheet, top, "test fuse, 1 A", "empty, then the board fuse, 1 A")
    note = "S1 off before a clamp is touched. Red on first, black last; black off first, red last."
    sheet.say((40, top + 186), note, bold=True)


def _post(sheet: Sheet, top: float, main: str, board: str) -> None:
    """Battery, clamps and the three fuses; what is in the two holders."""
    y = top + 70
    sheet.box((40, y - 30), (190, y + 90), "#f2f2ee")
    sheet.say((115, y + 40), "battery", "middle", 15, bold=True)
    sheet.box((60, y - 46), (90, y - 30), _RED)
    sheet.box((140, y - 46), (170, y - 30), _BLACK)
    sheet.say((50, y - 36), "+", "end", 16, bold=True)
    sheet.say((180, y - 36), "-", "start", 16, bold=True)
    sheet.line((75, y - 46), (75, y - 60), _RED, 5)
    sheet.line((75, y - 60), (250, y - 60), _RED, 5)
    _fuse(sheet, 250, y - 60, "F0", "on the post, 30 to 60 A,\nbreaks 10 000 A")
    sheet.line((330, y - 60), (410, y - 60), _RED, 5)
    _fuse(sheet, 410, y - 60, "F1", main)
    sheet.line((490, y - 60), (640, y - 60), _RED, 5)
    sheet.say((646, y - 55), "W1, to X1.1", bold=True)
    sheet.line((225, y - 60), (225, y + 20), _RED, 2.5)
    sheet.line((225, y + 20), (410, y + 20), _RED, 2.5)
    _fuse(sheet, 410, y + 20, "F2", board)
    sheet.line((490, y + 20), (640, y + 20), _RED, 2.5)
    sheet.say((646, y + 25), "W2, to X1.6", bold=True)
    sheet.line((155, y - 40), (205, y - 40), _BLACK, 5)
    sheet.line((205, y - 40), (205, y + 76), _BLACK, 5)
    sheet.line((205, y + 76), (640, y + 76), _BLACK, 5)
    sheet.say((646, y + 81), "W1, to X2.1", bold=True)


def _fuse(sheet: Sheet, x: float, y: float, name: str, words: str) -> None:
    sheet.box((x, y - 12), (x + 80, y + 12), "white")
    sheet.say((x + 40, y + 5), name, "middle", bold=True)
    sheet.say((x, y + 28), words, size=11)


def strip(sheet: Sheet, top: float) -> None:
    """The power strip with the two resistors between its screws."""
    low, left, pitch = top + 50, 150.0, 90.0
    names = (
        "from F1",
        "from S1,\nto K1.30",
        "to X4.7",
        "from K1.87,\nto the pump",
        "to X4.8",
        "from F2",
    )
    for number, words in enumerate(names):
        x = left + number * pitch
        sheet.box((x, low), (x + pitch - 6, low + 60), "#f2f2ee")
        sheet.disc((x + pitch / 2 - 3, low + 20), 9, "#ffe98a")
        sheet.say((x + pitch / 2 - 3, low + 50), f"X1.{number + 1}", "middle", bold=True)
        sheet.say((x + pitch / 2 - 3, low + 80), words, "middle", 11)
    for first, words in ((1, "100 kΩ"), (3, "10 kΩ")):
        x0, x1 = (left + (first + one) * pitch + pitch / 2 - 3 for one in (0, 1))
        sheet.line((x0, low + 12), (x0, low - 16), _BROWN, 2.5)
        sheet.line((x1, low + 12), (x1, low - 16), _BROWN, 2.5)
        sheet.line((x0, low - 16), (x1, low - 16), _BROWN, 2.5)
        middle = (x0 + x1) / 2
        sheet.box((middle - 28, low - 27), (middle + 28, low - 5), "white", _BROWN)
        sheet.say((middle, low - 12), words, "middle", 12, bold=True)


def plug(sheet: Sheet, top: float) -> None:
    """The pump's half of the plug: diode and capacitor across its wires."""
    y, blue = top + 10, "#1b5fc1"
    sheet.box((60, y), (150, y + 90), "#f2f2ee")
    sheet.say((105, y + 50), "plug M1", "middle", bold=True)
    sheet.line((150, y + 15), (560, y + 15), _RED, 5)
    sheet.line((150, y + 75), (560, y + 75), _BLACK, 5)
    sheet.disc((590, y + 45), 44, "white")
    sheet.say((590, y + 50), "pump", "middle", bold=True)
    sheet.line((280, y + 15), (280, y + 75), _BLACK, 2.5)
    sheet.box((268, y + 28), (292, y + 62), "#555")
    sheet.line((270, y + 35), (290, y + 35), "#fff", 5)
    sheet.say((300, y + 50), "diode, ring to red")
    sheet.line((450, y + 15), (450, y + 38), blue, 2.5)
    sheet.line((450, y + 52), (450, y + 75), blue, 2.5)
    for bar in (y + 38, y + 52):
        sheet.line((436, bar), (464, bar), blue, 4)
    sheet.say((472, y + 50), "100 nF")


def probes(sheet: Sheet, top: float) -> None:
    """The meter's probes in the cable's half of the plug; the pump's half lies apart."""
    y = top + 10
    sheet.line((40, y + 20), (200, y + 20), _BROWN, 5)
    sheet.line((40, y + 70), (200, y + 70), _BLACK, 5)
    sheet.say((40, y + 8), "W3, from the box")
    sheet.box((200, y), (270, y + 90), "#f2f2ee")
    sheet.say((235, y + 50), "M1", "middle", bold=True)
    sheet.line((270, y + 20), (420, y + 20), _RED, 2.5)
    sheet.line((270, y + 70), (420, y + 70), _BLACK, 2.5)
    sheet.say((280, y + 12), "red probe, M1.+", size=11)
    sheet.say((280, y + 86), "black probe, M1.-", size=11)
    sheet.box((420, y), (540, y + 90), "#ffe98a", round_px=8)
    sheet.box((436, y + 14), (524, y + 46), "white")
    sheet.say((480, y + 37), "12.6", "middle", 18, bold=True)
    sheet.say((480, y + 74), "V DC", "middle", bold=True)
    sheet.box((650, y), (720, y + 90), "#f2f2ee")
    sheet.line((720, y + 20), (840, y + 20), _RED, 5)
    sheet.line((720, y + 70), (840, y + 70), _BLACK, 5)
    sheet.say((740, y + 50), "pump: unplugged")


def lamp(sheet: Sheet, top: float) -> None:
    """The lamp in the pump's place, and when it is to be dark."""
    rows = (
        ("F2 out", "dark"),
        ("F2 in, reset held for ten seconds", "dark"),
        ("F2 in, the wire off A1's pin relay", "dark"),
        ("while the board starts, and idle", "dark"),
        ("rillkeeper run 1", "burns"),
        ("in that run, the wire off X2.3", "dark within 1 s"),
        ("F2 out and in, that wire still off", "dark"),
        ("the same two with the wire at X5.11", "dark"),
    )
    _lamp_and_rows(sheet, top, rows)


def two_relays(sheet: Sheet, top: float) -> None:
    """The two contacts one behind the other, and when the lamp is to be dark."""
    y = top + 20
    sheet.line((60, y), (330, y), _RED, 5)
    sheet.line((570, y), (860, y), _BROWN, 5)
    sheet.line((450, y), (470, y), _BROWN, 5)
    for x, name in ((330.0, "K1"), (470.0, "K2")):
        sheet.box((x, y - 22), (x + 120, y + 22), "white")
        sheet.line((x, y), (x + 30, y), _BROWN, 3)
        sheet.line((x + 30, y), (x + 86, y - 16), _BROWN, 3)
        sheet.line((x + 90, y), (x + 120, y), _BROWN, 3)
        sheet.say((x + 60, y + 18), name, "middle", bold=True)
        sheet.say((x + 4, y - 8), "30", size=11)
        sheet.say((x + 116, y - 8), "87", "end", 11)
    sheet.say((60, y - 12), "X1.2, from the hand switch")
    sheet.say((860, y - 12), "X1.4, to the lamp", "end")
    rows = (
        ("rillkeeper run 1: K1 clicks alone, a second", "dark"),
        ("then K2 alone, a second", "dark"),
        ("then both", "burns"),
        ("the lead over K1, run 1", "a flash, locked out"),
        ("the lead over K2, run 1", "a flash, locked out"),
    )
    _lamp_and_rows(sheet, y + 50, rows)


def _lamp_and_rows(sheet: Sheet, top: float, rows: tuple[tuple[str, str], ...]) -> None:
    """The lamp between its two screws; beside it what is done, and what the lamp does."""
    y = top + 50
    for x, name in ((60.0, "X1.4"), (300.0, "X2.2")):
        sheet.disc((x, y), 9, "#ffe98a")
        sheet.say((x, y - 18), name, "middle", bold=True)
    sheet.line((69, y), (152, y), _BROWN, 3)
    sheet.line((208, y), (291, y), _BLACK, 3)
    sheet.disc((180, y), 28, "white")
    sheet.line((160, y - 20), (200, y + 20))
    sheet.line((160, y + 20), (200, y - 20))
    sheet.say((180, y + 50), "12 V, 5 W", "middle")
    for number, (state, lit) in enumerate(rows):
        line = top + 16 + number * 24
        sheet.say((400, line), state)
        sheet.say((715, line), lit, bold=True)
