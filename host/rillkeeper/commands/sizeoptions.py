"""The what-if options of `rillkeeper size`: KEY=A,B,C and KEY=LOW..HIGH."""

from rillkeeper.design.size.vary import KEYS_MAX, TRIES_MAX, Axis
from rillkeeper.errors import UsageMistake
from rillkeeper.site.change import UnknownKey, check_set, find_row, parse_values
from rillsim.site import InputRange, Site

VARY_SHAPE = "KEY=A,B,C"
RANGE_SHAPE = "KEY=LOW..HIGH"


def axes_of(texts: tuple[str, ...], site: Site) -> tuple[Axis, ...]:
    """Read every `--vary`. Raises UsageMistake, or SiteError for values out of range."""
    if len(texts) > KEYS_MAX:
        raise UsageMistake(f"--vary may be given {KEYS_MAX} times at most, not {len(texts)}")
    axes = []
    for text in texts:
        key, rest = _split(text, "--vary", VARY_SHAPE, site)
        values = parse_values("--vary", key, rest.split(","), site)
        axes.append(Axis(key, tuple(values)))
    tries = 1
    for axis in axes:
        tries *= len(axis.values)
    if tries > TRIES_MAX:
        raise UsageMistake(f"--vary asks for {tries} sites; {TRIES_MAX} at most")
    if len({axis.key for axis in axes}) < len(axes):
        raise UsageMistake(f"--vary names {axes[0].key} twice; put all its values in one list")
    return tuple(axes)


def ranges_of(texts: tuple[str, ...], site: Site) -> tuple[InputRange, ...]:
    """The ranges of the site file, and those of every `--range` in place of its own.

    Raises UsageMistake, or SiteError for values out of range.
    """
    ranges = []
    for text in texts:
        key, rest = _split(text, "--range", RANGE_SHAPE, site)
        _, row = find_row(key)
        ends = rest.split("..") if ".." in rest else rest.split(" to ")
        if len(ends) != 2:
            raise UsageMistake(f'--range "{text}": write {RANGE_SHAPE}, two dots or "to" between')
        if not (row.in_units or row.kind in ("number", "whole")):
            raise UsageMistake(f"--range {key}: is not a quantity; try --vary")
        low, high = parse_values("--range", key, ends, site)
        if low > high:
            raise UsageMistake(f'--range "{text}": the lower end comes first')
        ranges.append(InputRange(key, low, high))
    if len({one.key for one in ranges}) < len(ranges):
        raise UsageMistake("--range names a key twice")
    named = {one.key for one in ranges}
    return (*(one for one in site.ranges if one.key not in named), *ranges)


def _split(text: str, option: str, shape: str, site: Site) -> tuple[str, str]:
    key, found, rest = text.partition("=")
    key = key.strip()
    if not found or not rest.strip():
        raise UsageMistake(f'{option} "{text}": write {shape}')
    try:
        find_row(key)
        check_set(site, key)
    except UnknownKey as error:
        raise UsageMistake(f"{option}: {error}") from None
    return key, rest
