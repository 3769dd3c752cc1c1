"""The page of the coming nights, to print and hang up; the other pages show its nights, too."""

from dataclasses import dataclass
from pathlib import Path

from rillkeeper.display_units import day_text
from rillkeeper.morning.coming.plan import Coming
from rillkeeper.morning.coming.words import TITLE, Row, carry, first_thing, rows, sentences
from rillkeeper.pages import template


@dataclass(frozen=True)
class ComingPart:
    """What a template shows of the plan."""

    title: str
    nights: tuple[Row, ...]
    sentences: tuple[str, ...]


def part_of(plan: Coming) -> ComingPart:
    """The nights and sentences for a page that has the plan among others."""
    return ComingPart(f"{TITLE}, if it stays dry", tuple(rows(plan)), tuple(sentences(plan)))


def write(plan: Coming, path: Path) -> None:
    """Write the page to a file."""
    template.save(html_of(plan), path)


def html_of(plan: Coming) -> str:
    """The page as text; the same plan gives the same text."""
    first, last = plan.nights[0].day, plan.nights[-1].day
    dates = f"{day_text(first)} to {day_text(last)}" if last > first else day_text(first)
    return template.render(
        "coming",
        title=f"{plan.site.name}: the coming nights, {dates}",
        heading=plan.site.name,
        kicker=f"The coming nights, {dates}, as they go if it stays dry",
        lead=first_thing(plan),
        part=part_of(plan),
        carry=carry(plan.site),
    )
