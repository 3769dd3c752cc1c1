"""One line of a site file put in place of another; all else stays as it was written."""

import re
from dataclasses import replace

from rillkeeper.errors import RillkeeperError, SiteError
from rillkeeper.site.file import read_site

KEY = "measured"
_TABLE = re.compile(r"^\s*\[battery\]\s*(#.*)?$")
_ANY_TABLE = re.compile(r"^\s*\[")
_OWN = re.compile(rf"^\s*#?\s*{KEY}\s*=")


def with_measured(text: str, value: str, source: str) -> str:
    """The text of a site file with ``measured`` of its battery set.

    It is read again before it is given back: nothing else of the site may have changed. Raises
    RillkeeperError where that cannot be done, and then the line must be written by hand.
    """
    line = f'{KEY} = "{value}"'
    end = "\r\n" if "\r\n" in text else "\n"
    lines = text.splitlines()
    table = next((place for place, one in enumerate(lines) if _TABLE.match(one)), None)
    if table is None:
        lines += ["", "[battery]", line]
    else:
        inside = _inside(lines, table)
        own = [place for place in inside if _OWN.match(lines[place])]
        live = [place for place in own if not lines[place].lstrip().startswith("#")]
        if own:
            lines[(live or own)[0]] = line
        else:
            lines.insert(table + 1, line)
    changed = end.join(lines) + end
    by_hand = RillkeeperError(f"{source}: write it by hand, under [battery]: {line}")
    before = read_site(text, source)
    try:
        after = read_site(changed, source)
    except SiteError:
        raise by_hand from None
    kept = [one for one in after.ranges if one.key != f"battery.{KEY}"]
    same = replace(
        after,
        battery=replace(after.battery, measured_ah=before.battery.measured_ah),
        ranges=tuple(kept),
    )
    was = [one for one in before.ranges if one.key != f"battery.{KEY}"]
    if same != replace(before, ranges=tuple(was)):
        raise by_hand
    return changed


def _inside(lines: list[str], table: int) -> range:
    """The lines of a table, up to the next one."""
    for place in range(table + 1, len(lines)):
        if _ANY_TABLE.match(lines[place]):
            return range(table + 1, place)
    return range(table + 1, len(lines))
