"""Runs of a bare plant, with the relay pin driven by hand."""

from collections.abc import Iterator

from rillsim.plant import Plant
from rillsim.site import BoardSpec, FaultSpec, Site
from rillsim.truth import Truth

MINUTE = 600
HOUR = 36000


def pump(plant: Plant, n: int, ticks: int) -> Iterator[tuple[int, list[int]]]:
    """Close the relay at tick ``n``, read every tick, open it again."""
    plant.read(n)
    plant.drive(n, 1)
    for tick in range(n + 1, n + ticks + 1):
        yield tick, list(plant.read(tick))
    plant.drive(n + ticks, 0)


def pump_to_end(plant: Plant, n: int, ticks: int) -> Truth:
    """The same without the counts; the truth just before the relay opens."""
    plant.read(n)
    plant.drive(n, 1)
    plant.read(n + ticks)
    truth = plant.truth(n + ticks)
    plant.drive(n + ticks, 0)
    return truth


def truths(plant: Plant, n: int, ticks: int, every: int = 1) -> Iterator[Truth]:
    """Truths from ``n`` on; the pin stays as it is."""
    for tick in range(n, n + ticks + 1, every):
        plant.read(tick)
        yield plant.truth(tick)


def faulty(name: str, offset_s: float = 0.0, severity: float = 1.0, **more: float) -> FaultSpec:
    """One fault of the first night."""
    return FaultSpec(name, 1, offset_s, severity, **more)


FULLY_FITTED = Site(board=BoardSpec(current_fitted=True))
