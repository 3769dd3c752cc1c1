"""A site file that lies on the desk: its text, and the site with what the page has changed.

The text is never touched until somebody saves: then the changed keys are written into it, and
all else, with its comments, stays as it is.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import sha256
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from rillkeeper.desk.handles import CHARGE, CHARGE_LEAST, handles_of
from rillkeeper.errors import Mistake, RillkeeperError, SiteError
from rillkeeper.site.change import (
    UnknownKey,
    check_set,
    conflicts,
    find_row,
    parse_value,
    shown_value,
    with_value,
)
from rillkeeper.site.file import read_site
from rillkeeper.site.places import line_of
from rillkeeper.site.value import ValueProblem
from rillsim.site import Site

CHANGES_MAX = 60
TEXT_MAX = 200
MEASURED = "battery.measured"
Changes = tuple[tuple[str, str], ...]
"""Key and text of each change, sorted by key."""


@dataclass(frozen=True)
class Changed:
    """A site with its changes, or what is wrong with them."""

    site: Site | None
    charge: float | None
    """Of the battery while one looks; None: half of what it may give is used."""
    mistakes: tuple[Mistake, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """One file that was read without a mistake."""

    name: str
    text: str

    @cached_property
    def id(self) -> str:
        """Of this text."""
        return sha256(self.text.encode()).hexdigest()[:20]

    @cached_property
    def site(self) -> Site:
        """As the file has it. Raises SiteError with all its mistakes."""
        return read_site(self.text, self.name)

    def changed(self, changes: Changes) -> Changed:
        """The site with some changes, read as the file would be."""
        site, charge = self.site, None
        mistakes: list[Mistake] = []
        for key, text in changes:
            try:
                if key == CHARGE:
                    charge = _charge(text)
                else:
                    check_set(site, key)
                    site = with_value(site, key, parse_value(key, text, site.units))
            except ValueProblem as problem:
                mistakes.append(problem.at(key, text))
            except UnknownKey as unknown:
                raise RillkeeperError(str(unknown)) from None
        keys = {key for key, _ in changes}
        site = replace(site, ranges=tuple(one for one in site.ranges if one.key not in keys))
        mistakes += [] if mistakes else conflicts(site)
        return Changed(None if mistakes else site, charge, tuple(mistakes))

    def document(self) -> dict[str, Any]:
        """What the page needs to begin with it."""
        return {
            "id": self.id,
            "name": self.name,
            "text": self.text,
            "title": self.site.name,
            "handles": handles_of(self.site),
        }


def changes_of(given: object) -> Changes:
    """Changes as the page sends them. Raises RillkeeperError for anything else."""
    if not isinstance(given, dict) or len(given) > CHANGES_MAX:
        raise RillkeeperError("changes: not a table of keys and texts")
    for key, text in given.items():
        if not isinstance(text, str) or len(text) > TEXT_MAX or not text.isprintable():
            raise RillkeeperError(f"{key[:TEXT_MAX]!r}: not a text of a site file")
    return tuple(sorted(given.items()))


def with_changes(text: str, changes: Mapping[str, str]) -> str:
    """The text of a site file with other values, and all else, comments too, as it was.

    Raises RillkeeperError where the text is not TOML.
    """
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise RillkeeperError(f"not TOML: {error}") from None
    for key, value in changes.items():
        if key == CHARGE:
            continue
        try:
            _, row = find_row(key)
        except UnknownKey as unknown:
            raise RillkeeperError(str(unknown)) from None
        table, _, name = key.rpartition(".")
        try:
            place = _table(document, table)
            place[name] = _toml_value(row.kind, value)
        except (KeyError, IndexError, TypeError, TOMLKitError):
            raise RillkeeperError(f"{key}: has no place in this file") from None
    return tomlkit.dumps(document)


def _table(document: Any, name: str) -> Any:
    """A table of the file, or one that is put at its end."""
    if "[" in name:
        name, _, number = name.rstrip("]").partition("[")
        return document[name][int(number) - 1]
    if name not in document:
        document[name] = tomlkit.table()
    return document[name]


def _toml_value(kind: str, text: str) -> object:
    """As the file has it: numbers and yes or no bare, all else in quotes."""
    if kind in ("number", "whole"):
        try:
            return int(text) if kind == "whole" else float(text)
        except ValueError:
            return text
    if kind == "yes or no" and text in ("true", "false"):
        return text == "true"
    return text


def saved(sheet: Sheet, changes: Changes) -> str:
    """The file with its changes. It reads as the site that was drawn, or nothing is given.

    A measured battery that was made larger on the page holds more in the same measure.
    """
    drawn = sheet.changed(changes).site
    if drawn is None:
        raise RillkeeperError("what is changed has mistakes; put them right first")
    told = dict(changes)
    if drawn.battery.measured_ah != sheet.site.battery.measured_ah:
        told[MEASURED] = shown_value(drawn, MEASURED)
    text = with_changes(sheet.text, told)
    read_site(text, sheet.name)
    return text


def opened(name: str, text: str, changes: Mapping[str, str]) -> tuple[Sheet | None, list[Mistake]]:
    """A file with corrections, or all that is wrong with it."""
    try:
        text = with_changes(text, changes) if changes else text
        sheet = Sheet(name, text)
        sheet.site  # noqa: B018  # It is read here, or its mistakes are told.
    except SiteError as error:
        return None, list(error.mistakes)
    except RillkeeperError as error:
        return None, [Mistake(name, "", str(error))]
    return sheet, []


def mistake_document(mistake: Mistake, text: str = "") -> dict[str, object]:
    """A mistake for the page, at the field that it belongs to."""
    try:
        find_row(mistake.path)
        field = True
    except UnknownKey:
        field = False
    return {
        "path": mistake.path,
        "field": field,
        "line": mistake.line or (line_of(text, mistake.path) if text else 0),
        "read": mistake.read.strip('"'),
        "problem": mistake.problem,
        "allowed": mistake.allowed,
        "nearest": mistake.nearest,
    }


def _charge(text: str) -> float:
    """Share of a full battery, from a text in per cent."""
    try:
        charge = float(text.removesuffix("%")) / 100.0
    except ValueError:
        charge = float("nan")
    if not CHARGE_LEAST / 100.0 <= charge <= 1.0:
        raise ValueProblem("not a charge", f"{CHARGE_LEAST} % to 100 %")
    return charge
