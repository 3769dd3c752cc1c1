"""The page around the parts: head, style, sections, and cells that are safe to show."""

from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

from rillkeeper.runlog.sentences import LEVELS


def document(title: str, parts: Iterable[str]) -> str:
    """The whole HTML file: nothing in it asks for another."""
    style = (files("rillkeeper.pages") / "style.css").read_text(encoding="utf-8")
    body = "\n".join(parts)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<link rel="icon" href="data:,">\n'
        f"<title>{escape(title)}</title>\n<style>\n{style}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def section(title: str, *parts: str, kind: str = "") -> str:
    """A part of the page under its heading.

    On paper the kind "fresh" begins a new sheet, and "keep" stays on one if it can.
    """
    inner = "\n".join(part for part in parts if part)
    return f"<section{_class(kind)}>\n<h2>{escape(title)}</h2>\n{inner}\n</section>"


def paragraph(text: str, kind: str = "") -> str:
    """A paragraph of plain text."""
    return f"<p{_class(kind)}>{escape(text)}</p>" if text else ""


def figure(svg: str, caption: str = "") -> str:
    """A picture with what to know when reading it."""
    below = f"<figcaption>{escape(caption)}</figcaption>" if caption else ""
    return f"<figure>{svg}{below}</figure>"


def facts(rows: Iterable[tuple[str, str]]) -> str:
    """A list of names and values."""
    inner = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in rows)
    return f'<dl class="facts">{inner}</dl>'


def mark(number: int, level: int) -> str:
    """The number of an event, shaped by how much it asks of the reader."""
    return f'<span class="mark {LEVELS[level]}">{number}</span>'


def table(
    kind: str, heads: Sequence[str], rows: Iterable[tuple[str, Sequence[str]]], numeric: set[int]
) -> str:
    """A table; heads and cells come as HTML, rows with their class; some columns are numbers."""

    def cell(tag: str, place: int, text: str) -> str:
        return f"<{tag}{_class('n' if place in numeric else '')}>{text}</{tag}>"

    head = "".join(cell("th", place, text) for place, text in enumerate(heads))
    body = "\n".join(
        f"<tr{_class(row_kind)}>"
        + "".join(cell("td", place, text) for place, text in enumerate(cells))
        + "</tr>"
        for row_kind, cells in rows
    )
    return (
        f'<div class="wide"><table{_class(kind)}>\n<thead><tr>{head}</tr></thead>\n'
        f"<tbody>\n{body}\n</tbody>\n</table></div>"
    )


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""
