"""How a cause comes about: a fault of the plant's catalogue, its severities, and its words."""

from collections.abc import Callable
from dataclasses import dataclass

from rillkeeper.inquiry.why.felt import felt, volts_lost, with_kink, with_ohm, with_strainer
from rillsim.faults import acts
from rillsim.faults.conditions import COLD_C
from rillsim.site import BoardSpec, Site

Words = Callable[[float, Site], str]


@dataclass(frozen=True)
class FailureMode:
    """One fault of the catalogue, and the severities that are tried."""

    fault: str
    severities: tuple[float, ...]
    words: Words
    """How bad it is, in plain words with a unit."""
    of_cover: bool = False
    """The severities are parts of the water above the strainer."""
    downwards: bool = False
    """The fault of that name in its other direction."""
    weight: float = 1.0
    """Of this mode among those of its cause."""
    needs: str = ""
    """What must be fitted on the board for it to be there at all."""
    in_a_run: bool = False
    """It comes while the pump works, and not before: its severities are moments, and nothing lies
    between them."""

    @property
    def key(self) -> str:
        """Its name among the signatures."""
        if self.in_a_run:
            return f"{self.fault} in a run"
        return f"{self.fault} downwards" if self.downwards else self.fault

    def offered_on(self, board: BoardSpec) -> bool:
        """Whether a board has what it needs."""
        return not self.needs or bool(getattr(board, self.needs))

    def severity_on(self, site: Site, severity: float) -> float:
        """In the catalogue's measure."""
        scale = site.water.cover_m if self.of_cover else 1.0
        return -scale * severity if self.downwards else scale * severity


def percent(of: str) -> Words:
    return lambda severity, site: f"{100 * severity:.0f} % {of}"


def strainer(severity: float, site: Site) -> str:
    much = f"{100 * severity:.0f} % of the strainer blocked"
    return f"{much}: {felt(site, with_strainer(site, severity))}"


def hole(full_m2: float, what: str) -> Words:
    return lambda severity, site: f"{what} of {severity * full_m2 * 1e6:.2g} mm2"


def nozzle(area_more: float) -> Words:
    def words(severity: float, site: Site) -> str:
        bore_mm = site.sprinkler.nozzle_bore_m * 1e3 * (1.0 + area_more * severity) ** 0.5
        return f"as wide as a nozzle of {bore_mm:.1f} mm"

    return words


def narrow(severity: float, site: Site) -> str:
    closed = f"{100 * acts.KINK_SHARE_MAX * severity:.0f} % of the bore closed"
    return f"{closed}: {felt(site, with_kink(site, severity))}"


def metres(severity: float, site: Site) -> str:
    than = "by the litres counted" if site.water.stored_m3 > 0.0 else "in the site file"
    return f"{100 * site.water.cover_m * severity:.0f} cm lower than {than}"


def cold(severity: float, site: Site) -> str:
    warm_c = site.battery.temperature_c
    return f"about {warm_c + severity * min(COLD_C - warm_c, 0.0):.0f} C"


def ohm(full_ohm: float) -> Words:
    def words(severity: float, site: Site) -> str:
        worse = with_ohm(site, full_ohm * severity)
        volt = volts_lost(site, worse)
        less = f"{max(volt, 0.0):.1f} V less, {felt(site, worse)}"
        return f"{less} ({1e3 * full_ohm * severity:.0f} mohm more)"

    return words


def kilopascals(direction: str) -> Words:
    return lambda severity, site: f"{1e-3 * acts.PRESSURE_OFF_PA * severity:.0f} kPa {direction}"


def volts(direction: str) -> Words:
    return lambda severity, site: f"{acts.BATTERY_OFF_V * severity:.2f} V {direction}"


def amperes(direction: str) -> Words:
    return lambda severity, site: f"{acts.CURRENT_OFF_A * severity:.2f} A {direction}"


def plain(text: str) -> Words:
    return lambda severity, site: text
