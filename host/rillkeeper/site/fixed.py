"""What the owner of a site cannot change: keys of its file, for advice to leave alone."""

from collections.abc import Iterator

from rillkeeper.errors import Mistake, as_toml
from rillkeeper.site.keys import TABLES
from rillkeeper.site.value import nearest_name
from rillsim.site import Site


def fixed_keys(site: Site) -> list[str]:
    """The keys that the site names.

    >>> fixed_keys(Site(fixed="cable.length, pump.open_flow"))
    ['cable.length', 'pump.open_flow']
    """
    return [key for part in site.fixed.split(",") if (key := part.strip())]


def unknown_fixed(site: Site) -> Iterator[Mistake]:
    """Those that are no keys."""
    known = tuple(f"{table.name}.{row.key}" for table in TABLES for row in table.rows)
    for key in fixed_keys(site):
        if key not in known:
            allowed = "keys of this file with commas between"
            near = nearest_name(key, known)
            yield Mistake("fixed", as_toml(site.fixed), f'no key "{key}"', allowed, near)
