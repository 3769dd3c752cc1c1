"""Pages from templates: values in, one HTML file out that asks for no other.

The templates in ``templates/`` write all HTML; they escape every value, and a name that was not
handed over is an error.
"""

from functools import cache
from pathlib import Path

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PackageLoader, StrictUndefined

from rillkeeper.runlog.sentences import LEVELS


def render(page: str, folder: Path | None = None, **values: object) -> str:
    """The page of that name; the same values give the same text.

    ``folder`` holds templates of its own, which may use those here.
    """
    return _environment(folder).get_template(f"{page}.html").render(values)


def save(html: str, path: Path) -> None:
    """Write a page to a file, with the same line ends on every system."""
    path.write_text(html, encoding="utf-8", newline="\n")


def capital(text: str) -> str:
    """The text with a capital first, and the rest as it is.

    >>> capital("low NPSH")
    'Low NPSH'
    """
    return f"{text[:1].upper()}{text[1:]}"


@cache
def _environment(folder: Path | None) -> Environment:
    loader = PackageLoader("rillkeeper.pages")
    made = Environment(
        loader=ChoiceLoader([FileSystemLoader(folder), loader]) if folder else loader,
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["capital"] = capital
    made.globals["levels"] = LEVELS
    return made
