"""Inputs without sense, from a seed: wild counts, gaps, contacts, clocks and wishes.

Each reading keeps to one kind of trouble for a while, so that holds are reached as well as
broken. The site underneath is sound, so that a keeper also gets to run.
"""

from random import Random

from keeper.hand import RELEARN as LAST

from .bench import DAY0, FROST_ZERO

GAPS_MS = (1, 99, 100, 499, 500, 501, 999, 5000, 61000, 86400000, 1 << 28, (1 << 30) - 1)


class Chaos:
    """One source of nonsense. ``tick`` gives the arguments of the next step."""

    def __init__(self, seed: int, wildness: float = 0.1, number: type[int] = int) -> None:
        self.random = Random(seed)
        self.wildness = wildness
        self.number = number
        self.now_ms = self.random.randrange(1 << 30)
        self.clock_ms = self.random.randrange(86400000)
        self.day = DAY0
        self.trouble: dict[str, int] = {}
        self.left = 0

    def tick(self, level: int, nap_ms: int) -> tuple[int, ...]:
        random = self.random
        if self.left == 0:
            self._change_trouble()
        self.left -= 1
        dt_ms = self._dt_ms(nap_ms)
        self.now_ms = (self.now_ms + dt_ms) & 0x3FFFFFFF
        self.clock_ms += dt_ms
        clock_ms = self.clock_ms + self.trouble.get("clock", 0)
        noise = random.randrange(3)
        sound = {
            "clock_ok": 1,
            "battery": 2400 + noise if level else 2520 + noise,
            "pressure": 910 + noise if level else 410 + noise,
            "load": level,
            "contacts": 0,
            "frost": FROST_ZERO + 150,
            "current": 1200 * level,
            "pulses": 5 * level,
        }
        reading = {**sound, **{k: v for k, v in self.trouble.items() if k in sound}}
        for key in ("battery", "pressure", "frost", "current"):
            if random.random() < self.wildness / 20:
                reading[key] = random.choice((-1, 0, 4095, random.randrange(4096)))
        day = self.day + clock_ms // 86400000
        second = clock_ms % 86400000 // 1000
        values = (self.now_ms, day, second, *reading.values())
        return tuple(self.number(value) for value in values)

    def wish(self) -> tuple[int, int] | None:
        random = self.random
        if random.random() < 0.002:
            # No wish at all is none: in its place the last of them.
            code = random.randrange(LAST) or LAST
            return code, random.choice((0, 0, 1, 7, 300, 50000))
        return None

    def _dt_ms(self, nap_ms: int) -> int:
        random = self.random
        if random.random() < self.wildness / 50:
            return random.choice(GAPS_MS)
        if nap_ms > 100 and random.random() < 0.5:
            return nap_ms
        return 100

    def _change_trouble(self) -> None:
        random = self.random
        self.left = random.choice((1, 3, 10, 30, 100, 400, 1500))
        self.trouble = {}
        if random.random() > self.wildness * 5:
            return
        choices = {
            "clock_ok": (0,),
            "battery": (-1, 0, 410, 1199, 1700, 1900, 2240, 2300, 3060, 3500, 4095),
            "pressure": (-1, 0, 204, 410, 440, 500, 700, 1115, 1440, 2400, 4095),
            "load": (0, 1),
            "contacts": (1, 2, 3),
            "frost": (-1, 0, 99, 621, 641, 2501, 4095),
            "current": (-1, 0, 2501, 4095),
            "pulses": (0, 0, 1, 4000),
            "clock": (-86400000, -3600000, -1000, 30000, 61000, 3600000, 10**9),
        }
        for key in random.sample(sorted(choices), random.choice((1, 1, 1, 2, 3))):
            self.trouble[key] = random.choice(choices[key])
