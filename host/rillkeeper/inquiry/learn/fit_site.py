"""Learn a site's uncertain inputs from the nights that its board has kept."""

from dataclasses import dataclass, replace

import numpy as np

from rillkeeper.design.limits.working_site import depth_of
from rillkeeper.display_units import counted
from rillkeeper.errors import RillkeeperError
from rillkeeper.inquiry.learn.fit import Fit, Floats, Residuals, fit
from rillkeeper.inquiry.learn.inputs import CHARGED_SHARE, Input, inputs_of
from rillkeeper.inquiry.learn.model import LivedRun, Model, readings_of, runs_of
from rillkeeper.runlog.nights import NightLog
from rillsim.site import Site

TOLD_SHARE = 0.7
"""An input is told by the sensors when its spread has shrunk to this share or less."""
RUNS_MIN = 2
ODD = 3.5
"""A run whose readings are so many deviations off, in the mean, is not like the others."""
ODD_ROUNDS = 4
KEPT_SHARE = 0.6
_CHARGED_COUNT = 0.97


@dataclass(frozen=True)
class LearnedInput:
    """One input, before and after."""

    about: Input
    value: float
    spread: float
    """Deviation, in the field's unit."""
    share: float
    """Of the spread before: 1 is nothing learned."""

    @property
    def told(self) -> bool:
        """Whether these sensors tell it at all."""
        return self.share <= TOLD_SHARE


@dataclass(frozen=True)
class LearnedSite:
    """A site as its nights teach it."""

    site: Site
    """As its file has it."""
    inputs: tuple[LearnedInput, ...]
    model: Model
    fit: Fit
    before: Floats
    """The readings that the site file would give."""
    after: Floats
    """Those of the learned site."""
    left_out: tuple[LivedRun, ...]
    """Runs that are not like the others, or that something stopped."""

    @property
    def runs(self) -> list[LivedRun]:
        """Runs that were held against the model."""
        used = sorted({reading.run for reading in self.model.readings})
        return [self.model.runs[place] for place in used]

    @property
    def agrees(self) -> bool:
        """Whether the learned site explains the readings: chi squared a reading is usual."""
        off = self.fit.residuals
        return bool(off @ off <= 2.0 * max(1, len(off)))


def learn(site: Site, evidence: NightLog, capacity_mah: int = 0) -> LearnedSite:
    """Fit the uncertain inputs of a site to its nights.

    Parameters
    ----------
    site : Site
        As its file has it
    evidence : NightLog
        The nights, as ``nights_of`` reads them out of a log
    capacity_mah : int
        What the board takes a full battery for; the highest count of the log where not given

    Raises
    ------
    RillkeeperError
        When the log has too little to learn from
    """
    runs = runs_of(site, evidence.runs)
    sound = sum(lived.sound for lived in runs)
    if sound < RUNS_MIN:
        raise RillkeeperError(
            f"{counted(sound, 'run')} of this log went as it should and lasted three minutes; "
            f"at least {RUNS_MIN} are needed to learn from"
        )
    begun = _begun(site, runs, capacity_mah)
    inputs = tuple(inputs_of(site))
    found: Fit | None = None
    for _ in range(ODD_ROUNDS):
        kept = tuple(readings_of(runs))
        model = Model(site, inputs, tuple(runs), kept, begun)
        found = fit(_residuals(model), *model.bounds())
        odd = _odd(model, found)
        left = sum(lived.sound for lived in runs) - len(odd)
        if not odd or left < max(RUNS_MIN, KEPT_SHARE * sound):
            break
        runs = [
            replace(lived, sound=lived.sound and place not in odd)
            for place, lived in enumerate(runs)
        ]
    assert found is not None
    values = model.values(found.z)
    spread = [float(share) for share in found.spread]
    learned = tuple(
        LearnedInput(one, values[one.key], one.spread_at(values[one.key], spread[n]), spread[n])
        for n, one in enumerate(inputs)
    )
    return LearnedSite(
        site=site,
        inputs=learned,
        model=model,
        fit=found,
        before=model.predict(np.zeros(model.count)),
        after=model.predict(found.z),
        left_out=tuple(lived for lived in runs if not lived.sound),
    )


def _residuals(model: Model) -> Residuals:
    return lambda z: np.asarray((model.predict(z) - model.recorded) / model.spreads)


def _odd(model: Model, found: Fit) -> set[int]:
    """Runs whose readings do not go with the others: of those too far off, the worst half."""
    runs = np.array([reading.run for reading in model.readings])
    off = {
        int(run): float(np.sqrt(np.mean(found.residuals[runs == run] ** 2)))
        for run in np.unique(runs)
    }
    odd = sorted((run for run in off if off[run] > ODD), key=lambda run: -off[run])
    return set(odd[: (len(odd) + 1) // 2])


def _begun(site: Site, runs: list[LivedRun], capacity_mah: int) -> tuple[float, ...]:
    """Share of a full battery at the start of each charge, by the board's count."""
    full_mah = capacity_mah or max(lived.evidence.left_mah for lived in runs)
    usable = depth_of(site.battery)
    found = []
    for lived in runs:
        if lived.new_charge:
            share = lived.evidence.left_mah / full_mah if full_mah else 1.0
            charged = share > _CHARGED_COUNT
            found.append(CHARGED_SHARE if charged else 1.0 - usable * (1.0 - share))
    return tuple(found)
