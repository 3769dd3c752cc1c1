"""A source above the nozzle: a board that cannot shut the water off is not given limits."""

from rillkeeper.display_units import Shown
from rillkeeper.errors import NoSafeLimit
from rillsim.site import Site
from rillsim.water.standing import runs_by_itself, source_above_m

VALVE_WANTED = (
    "Fit a valve that opens and closes with the pump and say so in the site file, "
    "suction.stop_valve = true (hardware_notes/gravity.md)."
)


def standing_warning(site: Site) -> str:
    """What the owner of such a site must be told; empty for any other."""
    if not runs_by_itself(site):
        return ""
    above = Shown(site.units).text(source_above_m(site), "length")
    return f"the water stands {above} higher than the nozzle and runs by itself. {VALVE_WANTED}"


def check_standing(site: Site) -> None:
    """Raises NoSafeLimit where water runs through the pump while it stands."""
    warning = standing_warning(site)
    if warning:
        raise NoSafeLimit(f"{site.name}: {warning.removesuffix('.')}")
