"""Cable, fuse, relay and connectors: what they must carry, and the thinnest cable that does.

The thinnest cable is the thicker of two: the one that loses no more than it may, and the one that
carries what the fuse lets through.

Two rules beside each other, as the two halves of the world know them: the American gauge by
circular mils (ABYC E-11), and the nominal area by the resistance of IEC 60228.
"""

from dataclasses import dataclass
from math import ceil

from rillkeeper.design.limits.working_site import WorkingSite
from rillsim.site import CableSpec
from rillsim.supply.cable import awg_area_m2
from rillsim.supply.short_circuit import (
    BLADE_BREAKS_A,
    least_at_the_far_end_a,
    most_behind_the_fuse_a,
)
from rillsim.supply.wiring import (
    FUSE_MARGIN,
    area_ampacity_a,
    carrying_area_m2,
    carrying_gauge,
    fuse_rating_a,
    smallest_area_m2,
    smallest_gauge,
)

NOMINAL_V = 12.0
DROP_SHARES = (0.03, 0.10)
"""Critical and other circuits of ABYC E-11, from memory."""

CONTACTS_A = (10.0, 20.0, 30.0, 40.0, 70.0, 100.0)
"""Contacts of 12 V relays and switches as they are sold (common practice, no source)."""
RELAY_MARGIN = 1.25
"""A relay's contact over the fuse: what it lets through for long does not age the contact."""
MAKES_MARGIN = 1.1
"""Making current of the relay over the inrush of the pump (common practice, no source)."""


@dataclass(frozen=True)
class CableChoice:
    """The thinnest cable for one allowed drop and one fuse; none where the tables have none."""

    drop_share: float
    area_m2: float | None
    gauge: int | None
    refusal: str = ""


@dataclass(frozen=True)
class Wires:
    """The wiring as it is, and as it should be."""

    current_a: float
    """The most that the pump draws in normal work: full battery."""
    cable_drop_v: float
    total_drop_v: float
    """Clamps, fuse, cable and relay together."""
    ampacity_a: float | None
    """Of the fitted wire; none where it is thinner than any that may carry a pump."""
    fuse_a: float
    """As fitted."""
    fuse_wanted_a: float | None
    """For the most that the pump draws steadily: against a half shut line, its sheet's."""
    fuse_refusal: str
    """Why no fuse fits this wire and this pump."""
    inrush_a: float
    """The motor before it turns."""
    carrying_a: float
    """Rating that connectors need: no less than the fuse lets through."""
    switch_a: float
    """Rating of the hand switch, as it is sold."""
    relay_contact_a: float
    """Rating of the relay's contact, as it is sold."""
    relay_makes_a: float
    """What the relay's contact must make without welding, rounded up."""
    short_least_a: float
    """Of a short circuit at the pump; it must blow the fuse."""
    breaking_a: float
    """Of a short circuit right behind the fuse, which the fuse must break."""
    choices: tuple[CableChoice, ...]

    @property
    def drop_share(self) -> float:
        """Everything between posts and motor over the nominal voltage."""
        return self.total_drop_v / NOMINAL_V

    @property
    def fuse_holds(self) -> bool:
        """The fitted fuse does not blow in normal work."""
        return self.fuse_a >= FUSE_MARGIN * self.current_a

    @property
    def blade_breaks(self) -> bool:
        """A blade fuse alone breaks the worst short circuit of this battery."""
        return self.breaking_a <= BLADE_BREAKS_A

    @property
    def fuse_protects(self) -> bool:
        """The fitted fuse blows before the wire gets hot."""
        return self.ampacity_a is not None and self.fuse_a <= self.ampacity_a


def wires_of(work: WorkingSite) -> Wires:
    """What the wiring of a site carries and loses."""
    cable = work.site.cable
    current_a = work.full.point.current_a
    inrush_a = work.full.emf_v / (work.full.ohm + work.wires.relay_ohm + work.pump.winding_ohm)
    ampacity: float | None = None
    wanted: float | None = None
    refusal = ""
    try:
        ampacity = area_ampacity_a(cable.area_m2, cable.insulation)
        wanted = fuse_rating_a(max(current_a, work.site.pump.max_current_a), ampacity)
    except ValueError as error:
        refusal = str(error)
    carrying_a = max(cable.fuse_a, wanted or 0.0)
    return Wires(
        current_a=current_a,
        cable_drop_v=current_a * work.wires.conductor_ohm,
        total_drop_v=current_a * work.wires.total_ohm,
        ampacity_a=ampacity,
        fuse_a=cable.fuse_a,
        fuse_wanted_a=wanted,
        fuse_refusal=refusal,
        inrush_a=inrush_a,
        carrying_a=carrying_a,
        switch_a=contact_a(carrying_a),
        relay_contact_a=contact_a(RELAY_MARGIN * carrying_a),
        relay_makes_a=10.0 * ceil(MAKES_MARGIN * inrush_a / 10.0),
        short_least_a=least_at_the_far_end_a(cable, work.site.battery),
        breaking_a=most_behind_the_fuse_a(cable, work.site.battery),
        choices=tuple(
            cable_choice(cable, current_a, share, wanted or cable.fuse_a) for share in DROP_SHARES
        ),
    )


def cable_choice(
    cable: CableSpec, current_a: float, share: float, fuse_a: float = 0.0
) -> CableChoice:
    """The thinnest cable of this length that loses no more than a share of 12 V.

    It carries what a fuse of ``fuse_a`` lets through, [A].
    """
    area: float | None = None
    gauge: int | None = None
    refusal = ""
    try:
        drop_v = share * NOMINAL_V
        area = smallest_area_m2(
            current_a, cable.length_m, drop_v, cable.temperature_c, cable.strand_class
        )
        area = max(area, carrying_area_m2(fuse_a, cable.insulation))
    except ValueError as error:
        refusal = str(error)
    try:
        gauge = smallest_gauge(current_a, 2.0 * cable.length_m, NOMINAL_V, share)
        gauge = max(gauge, carrying_gauge(fuse_a, cable.insulation), key=awg_area_m2)
    except ValueError as error:
        refusal = refusal or str(error)
    return CableChoice(share, area, gauge, refusal)


def contact_a(current_a: float) -> float:
    """The contact to buy for a current, as it is sold, [A].

    Examples
    --------
    >>> contact_a(25.0)
    30.0
    """
    return next((size for size in CONTACTS_A if size >= current_a), current_a)
