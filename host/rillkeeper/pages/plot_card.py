"""The card for the plot: lamp, button, a phone with a cable; to print and put into the box.

All of it is made from what the code has: the lamp's characters, the times of the button, the word
that the board answers to, and the site's own sets.
"""

from dataclasses import dataclass
from pathlib import Path

from keeper.hand import LONG_MS
from rillkeeper.display_units import clock_text
from rillkeeper.pages import template
from rillkeeper.pages.lamp import LAMP
from rillsim.site import Site

ORDER = (
    *("idle", "soak", "rest", "done", "flat", "lockout"),
    *("check", "prime", "run", "unset"),
)
"""As one counts, then what needs no counting."""
SHOWN_TENTHS = 100
"""Of each character: the longest turn, and more."""
BAUD = 115200
WORD = "say"
EXAMPLE = (
    "Now: waiting",
    "Next: set 1, 2026-07-10 22:30",
    "Last night: 60 min, 1014 L",
    "Battery: 1.8 nights left",
    "Clock: 2026-07-10 07:12",
    "ok",
)
"""As a board answers in the morning after the demonstration site's first night."""


@dataclass(frozen=True)
class Character:
    """One row of the card."""

    shows: str
    means: str
    do: str
    alarm: bool
    """Whether somebody has to act."""
    bars: tuple[tuple[float, float], ...]
    """Beginning and length of each time lit, as shares of the bar."""


def characters() -> list[Character]:
    """The rows of the lamp, in the order of the card."""
    rows = []
    for state in ORDER:
        words = LAMP[state]
        bars, at = [], 0
        while at < SHOWN_TENTHS:
            for lit, tenths in words.spans:
                end = min(at + tenths, SHOWN_TENTHS)
                if lit and end > at:
                    bars.append((at / SHOWN_TENTHS, (end - at) / SHOWN_TENTHS))
                at += tenths
        rows.append(
            Character(
                words.shows,
                words.means,
                words.do.replace("`say` or `rillkeeper status`", f'"{WORD}" on a phone'),
                state in ("flat", "lockout", "unset", "done"),
                tuple(_joined(bars)),
            )
        )
    return rows


def button_rows(site: Site | None) -> list[tuple[str, str]]:
    """What the button does."""
    if site is not None and not site.board.button_fitted:
        return [("no button", "is fitted on this board: rillkeeper run, stop and clear do it")]
    held = LONG_MS // 1000
    return [
        ("short press", "starts the pump by hand where it waits or is stopped for the night"),
        ("short press", "stops the pump, a set or a pause, whatever goes on"),
        (
            f"held for {held} s",
            "says: I have looked. It clears a lockout or a stop for the night; an empty battery "
            "only charging clears",
        ),
    ]


def write(site: Site | None, path: Path) -> None:
    """Write the card to a file."""
    template.save(html_of(site), path)


def html_of(site: Site | None) -> str:
    """The card as text; the same site gives the same text."""
    sets = ", ".join(clock_text(one.start_s) for one in site.sets) if site else ""
    name = site.name if site else "At the plot"
    return template.render(
        "plot_card",
        title=f"{name}: lamp and button",
        heading=name,
        kicker="Lamp, button and phone, without a laptop",
        sets=sets,
        characters=characters(),
        seconds=SHOWN_TENTHS // 10,
        buttons=button_rows(site),
        baud=BAUD,
        word=WORD,
        example=EXAMPLE,
    )


def _joined(bars: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Times lit that touch are one."""
    found: list[tuple[float, float]] = []
    for begins, length in bars:
        if found and abs(sum(found[-1]) - begins) < 1e-9:
            found[-1] = (found[-1][0], found[-1][1] + length)
        else:
            found.append((begins, length))
    return found
