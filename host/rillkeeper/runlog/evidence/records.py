"""The pieces of evidence. What the log does not tell is None, never zero."""

from dataclasses import dataclass

RESTED_FROM_S = 2 * 3600.0
"""A shorter pause is like a soak: the battery has not come up again, nor the line drained."""


@dataclass(frozen=True)
class Learned:
    """What the board learned of its supply, some seconds after prime."""

    resistance_mohm: int
    rest_mv: int
    loaded_mv: int
    current_ma: int
    """Reckoned from the pressure where the board has no current channel."""
    pressure_pa: int | None


@dataclass(frozen=True)
class Minute:
    """The means of one minute of pumping."""

    since_s: float
    """Middle of the minute, from the closing of the relay."""
    pressure_pa: int | None
    battery_mv: int | None
    current_ma: int
    flow_ml_min: int | None
    left_mah: int


@dataclass(frozen=True)
class Stop:
    """The end of a run, just before the relay opened."""

    cause: str
    """A cause of the board's list, or the name of a rule."""
    on_s: int
    pressure_pa: int | None
    battery_mv: int | None
    used_mah: int
    given_ml: int | None


@dataclass(frozen=True)
class Decay:
    """One look some time after the stop."""

    after_ms: int
    pressure_pa: int | None
    battery_mv: int | None


@dataclass(frozen=True)
class Judgement:
    """A rule of the board that spoke: it stopped something, or it warned."""

    rule: str
    value: int
    limit: int
    action: str
    """An action of the board's list; "warn" for a warning."""


@dataclass(frozen=True)
class RunEvidence:
    """One closing of the relay."""

    night: int
    """Day number of the noon at which its night began."""
    place: int
    """In the log, from 0."""
    set: int
    run: int
    """Of the set, from 1."""
    again: bool
    """Whether the board tried the same run again after a stop."""
    when: str
    """Date and time by the board's clock; says so where that is not to be believed."""
    battery: int
    """Counts the times that a battery was put on, or charged where it stands, up to here."""
    pause_s: float | None
    """Since the pump stopped before; None for the first run and where the clock is not known."""
    rest_mv: int | None
    rest_pa: int | None
    left_mah: int
    air_c: float | None
    prime_ms: int | None
    """None where no pressure came."""
    primed_pa: int | None
    primed_mv: int | None
    learned: Learned | None
    minutes: tuple[Minute, ...]
    stop: Stop | None
    """None where the records end before the run did."""
    decay: tuple[Decay, ...]
    trips: tuple[Judgement, ...]
    warns: tuple[Judgement, ...]

    @property
    def rested(self) -> bool:
        """Whether the lines had hours to drain: the first run of a set, none just before it."""
        short = self.pause_s is not None and self.pause_s < RESTED_FROM_S
        return self.run == 1 and not self.again and not short

    @property
    def rules(self) -> tuple[str, ...]:
        """The rules that spoke in this run."""
        return tuple(one.rule for one in (*self.trips, *self.warns))


@dataclass(frozen=True)
class NightEvidence:
    """One night, noon to noon."""

    night: int
    runs: tuple[RunEvidence, ...]
    trips: tuple[Judgement, ...]
    """Of checks that refused, and of rules that spoke while the pump stood."""
    warns: tuple[Judgement, ...]
    battery_put_on: bool
    """A battery was put on, or charged where it stands, before or in this night."""
    skips: tuple[str, ...]
    """Causes for which a set was left out."""
    shortened: bool
    """A set was cut to what the battery had."""
    used_mah: int | None
    """From noon to noon, as the board closed the night."""
    left_mah: int | None
    rest_mv: int | None
    """At the noon that closed it."""

    @property
    def spoken(self) -> tuple[Judgement, ...]:
        """Every judgement of the night, runs and all."""
        of_runs = [one for run in self.runs for one in (*run.trips, *run.warns)]
        return (*self.trips, *self.warns, *of_runs)


@dataclass(frozen=True)
class Evidence:
    """All that a log tells, in the order in which it was written."""

    nights: tuple[NightEvidence, ...]
    runs: tuple[RunEvidence, ...]

    @property
    def first_night(self) -> int | None:
        """The day number of the first night."""
        return self.nights[0].night if self.nights else None
