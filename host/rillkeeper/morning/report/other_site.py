"""Does this log come from a board that was set up for this site? Signs that it does not."""

from collections.abc import Sequence
from statistics import median

from rillkeeper.design.limits.derive import settings_of
from rillkeeper.display_units import Shown
from rillkeeper.errors import NoSafeLimit
from rillkeeper.runlog.amounts import amount_text, in_runs
from rillkeeper.runlog.lines import Entry
from rillkeeper.runlog.nights import Night, sets_of_log, sets_of_settings
from rillsim.site import Site

PRESSURE_FACTOR = 2.0
"""A pressure so many times higher or lower than the site's own is another pump or line (common
practice, no source)."""
CHARGE_ROOM = 1.05


def other_site(site: Site, entries: Sequence[Entry], nights: Sequence[Night]) -> tuple[str, ...]:
    """Sentences, one for each sign; none where the log may well be this site's."""
    try:
        settings = settings_of(site)
    except NoSafeLimit:
        return ()
    shown = Shown(site.units)
    signs = [*_sets(entries, settings, shown)]
    pressures = [night.pressure_pa for night in nights if night.pressure_pa is not None]
    if pressures and site.board.pressure_fitted:
        seen, normal = median(pressures), float(settings["normal_pa"])
        if not normal / PRESSURE_FACTOR <= seen <= normal * PRESSURE_FACTOR:
            signs.append(
                f"the pressure was {shown.text(seen, 'pressure')}, and {site.name} has "
                f"{shown.text(normal, 'pressure')}"
            )
    fullest = max(
        (entry["left_mah"] for entry in entries if "left_mah" in entry.numbers), default=0
    )
    if fullest > CHARGE_ROOM * settings["capacity_mah"]:
        signs.append(
            f"the board counts up to {shown.text(fullest * 3.6, 'charge')}, and this site's "
            f"battery gives {shown.text(settings['capacity_mah'] * 3.6, 'charge')}"
        )
    return tuple(f"{sign[0].upper()}{sign[1:]}: {_ASK}" for sign in signs)


_ASK = "is this the site file of that board, and are its settings up to date?"


def _sets(entries: Sequence[Entry], settings: dict[str, int], shown: Shown) -> list[str]:
    """Sets that the board has taken up and the site does not ask for."""
    asked = sets_of_settings(settings)
    signs = []
    for number, tally in sets_of_log(entries).items():
        did = in_runs(amount_text(tally.unit, tally.amount, shown), tally.runs)
        wanted = asked.get(number)
        if wanted is None:
            signs.append(f"the board has a set {number} of {did}, and the site file has none")
        elif (wanted.unit, wanted.amount, wanted.runs) != (tally.unit, tally.amount, tally.runs):
            wants = in_runs(amount_text(wanted.unit, wanted.amount, shown), wanted.runs)
            signs.append(f"the board's set {number} is {did}, and the site file asks for {wants}")
    return signs
