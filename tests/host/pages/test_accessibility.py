"""Every page by axe-core, on a phone and on a desk, light and dark; and by rules of our own.

axe-core (https://github.com/dequelabs/axe-core) tries the rules of WCAG 2.2 that a program can
try, and common practice beyond them. What it cannot see in a picture is measured here: contrast
of the colours (1.4.3 and 1.4.11 of WCAG 2.2, with its formula), and text that overprints.
"""

import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from rillkeeper.pages import pictures
from tests.host.pages.browser import hold, looks_at
from tests.host.pages.every_page import pages

PAGES = pages()
STYLE = Path(pictures.__file__).parent / "templates" / "style.css"
TEXT = ("ink", "faint", "stop", "warning", "good", "water", "volts", "charge", "soil")
TEXT_CONTRAST, STEP_CONTRAST, LINE_CONTRAST = 4.5, 1.5, 3.0

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("name", PAGES)
def test_nothing_to_object_to(name: str, need: Callable[[str], Path], tmp_path: Path) -> None:
    file = tmp_path / f"{name}.html"
    file.write_text(PAGES[name](), encoding="utf-8")
    for look in looks_at(need("chromium"), need("axe"), file):
        hold(look)


FAULTY = """<!doctype html><html lang="en"><title>Faulty</title><main><h1>A plot</h1>
<p style="color: #aaa; background: #fff">pale</p><table><tr><th></th></tr></table>
<svg class="picture" role="img" aria-label="A picture that says a good deal, in words" width="200"
height="50"><text x="5" y="20">Thu 9 Jul</text><text x="15" y="20">Fri 10 Jul</text></svg>
</main></html>"""


def test_the_rig_objects(need: Callable[[str], Path], tmp_path: Path) -> None:
    file = tmp_path / "faulty.html"
    file.write_text(FAULTY, encoding="utf-8")
    look = next(iter(looks_at(need("chromium"), need("axe"), file)))
    assert [rule.partition(":")[0] for rule in look.violations] == [
        "color-contrast",
        "empty-table-header",
    ]
    assert look.overprints == ["Thu 9 Jul over Fri 10 Jul"]


def colours(style: str, dark: bool) -> dict[str, str]:
    """The variables of a scheme."""
    light, _, rest = style.partition("@media screen and (prefers-color-scheme: dark)")
    part = rest.partition("\n}\n")[0] if dark else light
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", part))


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2.

    >>> luminance("#ffffff"), luminance("#000000")
    (1.0, 0.0)
    """
    parts = (int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5))
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """By WCAG 2.2: 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _schemes() -> Iterator[dict[str, str]]:
    style = STYLE.read_text(encoding="utf-8")
    yield colours(style, dark=False)
    yield colours(style, dark=True)


def test_every_colour_that_text_has_can_be_read() -> None:
    for scheme in _schemes():
        for name in TEXT:
            for ground in ("paper", "shade"):
                assert contrast(scheme[name], scheme[ground]) >= TEXT_CONTRAST, (name, ground)
        assert contrast(scheme["on-stop"], scheme["stop"]) >= TEXT_CONTRAST


def test_the_style_sheet_and_the_pictures_have_the_same_colours() -> None:
    light, dark = _schemes()
    assert light.keys() == dark.keys()
    for colour, name in pictures._NAMES.items():
        assert light[name] == colour


def test_steps_of_depth_stand_apart() -> None:
    for one, other in pairwise(pictures.DEPTHS):
        assert contrast(one, other) >= STEP_CONTRAST, (one, other)
    for depth in pictures.DEPTHS:  # A line is dark with a light rim: one of the two is seen.
        inks = (pictures.MAP_INK, pictures.MAP_PAPER)
        assert max(contrast(depth, ink) for ink in inks) >= LINE_CONTRAST, depth
