"""What is asked: which variants, which seasons, what wears and what may go wrong."""

import hashlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from rillkeeper import __version__
from rillkeeper.design.limits.derive import settings_of
from rillkeeper.season.answer import Variant, answer_of
from rillkeeper.season.chance import Rate
from rillkeeper.season.crew import Key, play_all
from rillkeeper.season.kept import Kept
from rillkeeper.season.task import SHAPE, Task
from rillkeeper.season.wear import Wear
from rillsim.garden.weather import Weather
from rillsim.site import Site


@dataclass(frozen=True)
class Question:
    """All that decides the answer."""

    variants: tuple[tuple[str, Site], ...]
    """Names and sites; the first is what the others are held against."""
    nights: int
    seed: int
    numbers: Sequence[int]
    """Seasons, rising: drawn ones are counted from 0, those of a table go by their years."""
    weather: dict[int, Weather] = field(default_factory=dict)
    rates: tuple[Rate, ...] = ()
    wear: Wear = Wear()

    @property
    def mark(self) -> str:
        """Stands for all of it but the number of seasons, which may grow."""
        told = (self.variants, self.nights, self.seed, self.rates, self.wear, __version__, SHAPE)
        days = sorted((number, repr(one.days)) for number, one in self.weather.items())
        return hashlib.sha256(repr((told, days)).encode()).hexdigest()

    def tasks(self, kept: Kept) -> Iterator[tuple[Key, Task]]:
        """What is not kept yet, season by season so that variants stand beside each other.

        Raises SettingsError or NoSafeLimit where a variant cannot be.
        """
        settings = [settings_of(site) for _, site in self.variants]
        for number in self.numbers:
            for place, (_, site) in enumerate(self.variants):
                if not kept.has(place, number):
                    task = Task(
                        site,
                        settings[place],
                        self.nights,
                        self.seed,
                        number,
                        self.weather.get(number),
                        self.rates,
                        self.wear,
                    )
                    yield (place, number), task

    def answer(
        self, kept: Kept, workers: int, address: str | None, told: Callable[[int], None]
    ) -> list[Variant]:
        """Play what is missing, keep it as it comes, and put all together.

        ``told`` is called with the number of seasons that are there.
        """
        done = sum(
            kept.has(place, number)
            for number in self.numbers
            for place in range(len(self.variants))
        )
        told(done)
        for (place, number), result in play_all(self.tasks(kept), workers, address):
            kept.add(place, number, result)
            done += 1
            told(done)
        return [
            answer_of(name, site, kept, place, self.numbers[-1])
            for place, (name, site) in enumerate(self.variants)
        ]
