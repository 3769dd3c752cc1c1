"""What was learned, as a file beside the site file: values that take the place of the site's.

It is TOML with the site file's own keys and units, so that it can be read, corrected or copied
by hand. The table ``learned`` says where the values come from, the tables under ``spread`` how
sure each is: one standard deviation.
"""

import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rillkeeper.errors import Mistake, RillkeeperError, SiteError, as_toml
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.inquiry.learn.inputs import RELATIVE, STRAIGHT, site_at
from rillkeeper.site.change import find_row
from rillkeeper.site.checks import cross_checks
from rillkeeper.site.value import ValueProblem, nearest_name, read_value
from rillsim.site import InputRange, Site

KEYS = (*RELATIVE, *STRAIGHT)
SUFFIX = ".learned.toml"
_DIGITS = 5
_SPREAD_DIGITS = 2
_RANGE = 2.0
"""Deviations to either side that a range spans: 19 of 20 lie inside."""


@dataclass(frozen=True)
class Source:
    """Where the readings came from, in words."""

    board: str
    """A board's number, or the log file."""
    nights: str
    """"2026-07-09 to 2026-07-15"."""


def path_beside(site_file: Path) -> Path:
    """Where what was learned about a site file belongs.

    >>> str(path_beside(Path("plots/my-plot.toml")))
    'plots/my-plot.learned.toml'
    """
    return site_file.with_name(site_file.name.removesuffix(".toml") + SUFFIX)


def text_of(learned: LearnedSite, source: Source) -> str:
    """The file."""
    site = learned.site
    told = [one.about.key for one in learned.inputs if one.told]
    others = [one.about.key for one in learned.inputs if not one.told]
    lines = [
        "# What recorded nights teach about a site; written by `rillkeeper learn`.",
        "# These values stand in place of the site file's, which is left as it is. Under spread:",
        "# one standard deviation. Inputs in not_told are where the site file has them, or near:",
        "# the sensors do not tell them apart from others.",
        "",
        "[learned]",
        f"site = {as_toml_text(site.name)}",
        f"source = {as_toml_text(source.board)}",
        f"nights = {as_toml_text(source.nights)}",
        f"runs = {len(learned.runs)}",
        f"readings = {len(learned.model.readings)}",
        f"told = {_list(told)}",
        f"not_told = {_list(others)}",
    ]
    for prefix, digits in (("", _DIGITS), ("spread.", _SPREAD_DIGITS)):
        table = ""
        for one in sorted(learned.inputs, key=lambda one: KEYS_IN_ORDER.index(one.about.key)):
            name, _, key = one.about.key.partition(".")
            if name != table:
                table = name
                lines += ["", f"[{prefix}{name}]"]
            number = one.spread if prefix else one.value
            lines.append(f"{key} = {_written(one.about.key, number, site.units, digits)}")
    return "\n".join(lines) + "\n"


KEYS_IN_ORDER = sorted(KEYS)


def site_with_learned(site: Site, path: Path | str, ranges: bool = False) -> Site:
    """The site with what was learned in place of its own values.

    With ``ranges`` each input that the sensors told also becomes a range, two deviations to
    either side, for the sizing to draw from; the others hang together, so that drawn each by
    itself they would make sites that the nights have ruled out. Raises SiteError with every
    mistake of the file.
    """
    source = Path(path)
    try:
        text = source.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "not UTF-8 text"
        raise RillkeeperError(f"{source}: cannot be read: {why}") from None
    return read_over(site, text, source.name, ranges)


def read_over(site: Site, text: str, source: str, ranges: bool = False) -> Site:
    """The same from the text of the file."""
    try:
        data = tomllib.loads(text)
    except ValueError as error:
        raise SiteError(source, [Mistake("file", "", f"not TOML: {error}")]) from None
    about = data.pop("learned", None)
    if not isinstance(about, dict) or "site" not in about:
        hint = "a file that `rillkeeper learn` has written"
        raise SiteError(source, [Mistake("learned.site", "", "is not there", hint)])
    if about.get("site") != site.name:
        read = as_toml(about.get("site"))
        raise SiteError(
            source, [Mistake("learned.site", read, "another site", as_toml(site.name))]
        )
    mistakes: list[Mistake] = []
    spreads = _values(data.pop("spread", {}), "spread.", site, mistakes)
    values = _values(data, "", site, mistakes)
    changed = site if mistakes else site_at(site, values)
    if not mistakes:
        mistakes += cross_checks(changed, frozenset(), site.units)
    if mistakes:
        raise SiteError(source, mistakes)
    if not ranges:
        return changed
    told = about.get("told", ())
    found = [
        _range(key, values[key], spreads[key]) for key in values if key in told and key in spreads
    ]
    kept = [one for one in site.ranges if one.key not in values]
    return replace(changed, ranges=(*kept, *(one for one in found if one.low < one.high)))


def _values(
    tables: dict[str, Any], prefix: str, site: Site, mistakes: list[Mistake]
) -> dict[str, float]:
    """Numbers by key, in the fields' own units."""
    found: dict[str, float] = {}
    for name, table in tables.items():
        for key, value in table.items() if isinstance(table, dict) else [("", table)]:
            path = f"{name}.{key}".rstrip(".")
            if path not in KEYS:
                near = nearest_name(path, KEYS)
                wrong = Mistake(
                    prefix + path, as_toml(value), "not learned", ", ".join(KEYS), near
                )
                mistakes.append(wrong)
                continue
            _, row = find_row(path)
            if prefix:  # A spread may be smaller than any value may be.
                row = replace(row, low=f"0 {row.low.partition(' ')[2]}".strip())
            try:
                found[path] = float(read_value(row, value, site.units))
            except ValueProblem as problem:
                mistakes.append(problem.at(prefix + path, value))
    return found


def _range(key: str, value: float, spread: float) -> InputRange:
    _, row = find_row(key)
    low = max(row.limit(row.low), value - _RANGE * spread)
    high = min(row.limit(row.high), value + _RANGE * spread)
    return InputRange(key, low, high)


def _written(key: str, value: float, system: str, digits: int) -> str:
    _, row = find_row(key)
    if row.in_units:
        return as_toml_text(row.show(value, system, digits))
    return f"{float(f'{value:.{digits}g}')}"


def as_toml_text(text: str) -> str:
    """A text in quotes, as TOML has it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _list(keys: list[str]) -> str:
    return "[" + ", ".join(as_toml_text(key) for key in keys) + "]"
