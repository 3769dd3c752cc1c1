"""For each protection and each state it watches: how the site gets there, on the limit and past.

``at`` puts the quantity exactly on its limit, ``past`` one count of the converter (or one unit
of what is counted) past it. ``muted`` names rules that the same knob also touches.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from keeper.quantities import RESISTANCE, STILL_MS
from keeper.rules import NO_FLOW

from .bench import LOADED_MV, Bench
from .table import AWAKE, ON, QUIET, ROWS, Row

OPTIONAL = ("current", "second_relay", "flow")
Act = Callable[[Bench], None]


@dataclass(frozen=True)
class Case:
    rule: str
    state: str
    at: Act
    past: Act
    step: int = 1
    settings: dict[str, int] = field(default_factory=dict)
    before: Act = lambda bench: None
    reach: Act | None = None
    muted: tuple[str, ...] = ()
    kinds: int = 0
    """For a quantity that is a kind of its own for each number: how many there are."""

    @property
    def row(self) -> Row:
        return ROWS[self.rule]

    def __str__(self) -> str:
        return f"{self.rule} in {self.state}"

    def bench(self, *without: str, **settings: int) -> Bench:
        """In the state that is watched, and for as long as the rule wants."""
        needs = self.row.needs.split()
        changes = {name + "_fitted": int(name in needs) for name in OPTIONAL}
        changes.update(self.settings)
        changes.update(settings)
        bench = Bench(without=(*self.muted, *without), **changes)
        self.approach(bench)
        return bench

    def approach(self, bench: Bench) -> None:
        self.before(bench)
        (self.reach or (lambda b: b.go(self.state)))(bench)
        if self.row.after_ms and self.state != "check":
            bench.ticks(max(self.row.after_ms, 6000))


def knob(name: str, value: int) -> Act:
    return lambda bench: setattr(bench, name, value)


def raw(**counts: int) -> Act:
    return lambda bench: bench.raw.update(counts)


def level(rule: str, states: str, name: str, limit: int, step: int, **more: object) -> list[Case]:
    """A rule whose quantity is a knob: on the limit, and a step past."""
    past = limit + step
    return [
        Case(rule, state, knob(name, limit), knob(name, past), abs(step), **more)  # type: ignore[arg-type]
        for state in states.split()
    ]


def until(quantity: str, value: int) -> Act:
    return lambda bench: bench.until(lambda: bench.q(quantity) == value)


def rest(bench: Bench) -> None:
    """Nothing to do: time alone brings the quantity past its limit."""


def settled(bench: Bench) -> None:
    """The supply has been learned."""
    bench.go("run")
    bench.ticks(8000)


def poke_resistance(mohm: int) -> Act:
    def act(bench: Bench) -> None:
        bench.keeper.facts.resistance_mohm = mohm
        bench.keeper.q[RESISTANCE] = mohm

    return act


def low(bench: Bench) -> None:
    """Less than a quarter of the charge is left."""
    bench.keeper.facts.left_mah = 10000


def still_standing(bench: Bench) -> None:
    """The pump runs, and the hose has let go of its pressure."""
    settled(bench)
    bench.pressure_pa = 14800
    bench.ticks(300)


def remembered_base(bench: Bench) -> None:
    bench.keeper.facts.base_pa = 200000
    bench.keeper.facts.base_nights = 3


def drift(pressure_pa: int) -> Act:
    def act(bench: Bench) -> None:
        bench.water_pa = pressure_pa
        bench.until(lambda: "normal" in bench.kinds(), 70)

    return act


def left(mah: int) -> Act:
    def act(bench: Bench) -> None:
        bench.keeper.facts.left_mah = mah
        bench.ticks(1500)

    return act


def starts_before(count: int) -> Act:
    def act(bench: Bench) -> None:
        bench.keeper.facts.starts = count
        bench.keeper.relaywatch.remember()

    return act


def strained(load_on: int) -> Act:
    """The battery has just sagged deeply, and the load side is live or dead."""

    def act(bench: Bench) -> None:
        bench.load_on = 1
        bench.loaded_mv = 9000
        bench.ticks(300)
        bench.loaded_mv = LOADED_MV
        bench.ticks(200)
        bench.load_on = load_on

    return act


def broken_before(count: int) -> Act:
    def act(bench: Bench) -> None:
        bench.keeper.facts.broken_runs = count
        bench.until(lambda: bench.q("broken_runs") == count, 70)

    return act


def heat_before(seconds: int) -> Act:
    return lambda bench: setattr(bench.keeper.facts, "heat_ms", seconds * 1000)


def chatter(changes: int) -> Act:
    """The load side changes so often within the ten seconds of one count."""

    def act(bench: Bench) -> None:
        bench.load_on = bench.level
        bench.ticks(200)
        bench.until(lambda: bench.q("chatter") == 0)
        for _ in range(changes):
            bench.load_on = 1 - bench.load_on
            bench.tick()

    return act


def late(ms: int) -> Act:
    return lambda bench: (bench.tick(ms), None)[1]


def closed_cases() -> list[Case]:
    """Told by the load side; in prime by a battery that comes up instead of sagging."""
    return [
        *level("relay closed", QUIET, "load_on", 0, 1, kinds=4),
        Case(
            "relay closed",
            "prime",
            knob("battery_mv", 12600 + 100),
            knob("battery_mv", 12600 + 105),
            kinds=4,
            settings={"load_sense_fitted": 0},
            muted=("relay open", "no prime"),
            reach=lambda b: (b.go("prime"), b.ticks(2000))[0],
        ),
    ]


def load_stays_live(bench: Bench) -> None:
    """A run has just ended: the first relay is told to open, and the second is still closed."""
    if bench.keeper.second:
        bench.keeper.second.stopped()
        bench.load_on = 1


def long_weak(bench: Bench) -> None:
    """Water has come for more than half the time allowed, at a pressure that primes nothing."""
    bench.go("prime")
    bench.pressure_pa = 110000
    bench.ticks(46000)


def dry_before(bench: Bench) -> None:
    bench.keeper.facts.dry_run_ms = 100


def no_water(bench: Bench) -> None:
    """The battery feels a pump with water, and none of it passes the meter."""
    bench.pulses = 0
    if bench.state == "prime":
        bench.pressure_pa = 0
        bench.keeper.facts.resistance_mohm = 50
        bench.until(lambda: bench.keeper.watering.line.loaded)
        bench.keeper.q[STILL_MS] = 0


def rested_once(bench: Bench) -> None:
    bench.keeper.facts.tries[NO_FLOW] = 1


SUPPLY = ("low charge", "brown-out", "over-voltage", "stall by sag")
SWAP = raw(pressure=2400, battery=410)

CASES: list[Case] = [
    *level("high pressure", ON, "pressure_pa", 410000, 400, muted=("dead head",)),
    *level("dead head", ON, "pressure_pa", 280000, 400),
    # More than 4000 Pa above what stands in the line is an open line, and not dry.
    *level("dry run", "run", "pressure_pa", 24000, -400, settings={"static_pa": 20000}),
    Case(
        "no prime",
        "prime",
        until("prime_ms", 9000),
        until("prime_ms", 9000),
        100,
        {"prime_ms": 9000},
    ),
    *level("line open", "run", "pressure_pa", 110000, -400),
    *level(
        "line open",
        "prime",
        "pressure_pa",
        110000,
        -400,
        settings={"primed_pa": 150000},
        reach=long_weak,
    ),
    *[
        Case(
            "dry too long",
            state,
            until("dry_s", 10),
            until("dry_s", 10),
            1,
            {"dry_night_s": 10},
            before=dry_before,
            reach=lambda b, state=state: (b.go(state), setattr(b, "pressure_pa", 0))[1],
            muted=("dry run",),
        )
        for state in ON.split()
    ],
    Case("slow choke", "run", drift(160000), drift(159600), 2, before=remembered_base),
    Case("slow choke", "run", drift(240000), drift(240400), 2, before=remembered_base),
    Case("low charge", "run", knob("battery_mv", 11300), knob("battery_mv", 11295), 5, before=low),
    *level("low charge", "done", "rest_mv", 11900, -5),
    *level("brown-out", AWAKE, "battery_mv", 8500, -5, muted=("stall by sag", "bad supply")),
    *level("over-voltage", AWAKE, "battery_mv", 15200, 5),
    Case("weak supply", "run", knob("loaded_mv", 11160), knob("loaded_mv", 11145), reach=settled),
    Case("bad supply", "run", knob("loaded_mv", 9600), knob("loaded_mv", 9585), reach=settled),
    *[
        Case("bad supply", state, poke_resistance(250), poke_resistance(251))
        for state in ("check", "prime")
    ],
    Case("stall by sag", "prime", knob("battery_mv", 9100), knob("battery_mv", 9095), 5),
    Case(
        "stall by sag",
        "run",
        knob("battery_mv", 9100),
        knob("battery_mv", 9095),
        5,
        muted=("line open", "dry run"),
        reach=still_standing,
    ),
    *level("stall", ON, "pump_ma", 25000, 10),
    Case("fuse blown", "prime", strained(1), strained(0)),
    Case("fuse blown", "run", strained(1), strained(0)),
    Case("charge reserve", "check", left(2800), left(2799)),
    Case("over-run", "run", until("on_s", 60), until("on_s", 60), 1, {"run_max_s": 60}),
    Case("over-run", "prime", until("on_s", 60), until("on_s", 60), 1, {"run_max_s": 60}),
    Case("too many starts", "check", rest, rest, before=starts_before(7)),
    Case("runs broken off", "idle", broken_before(1), broken_before(2)),
    Case("duty", "run", until("heat_s", 60), until("heat_s", 60), 1, {"duty_s": 60}),
    Case("duty", "prime", until("heat_s", 60), until("heat_s", 60), 1, {"duty_s": 60}),
    *closed_cases(),
    *[
        Case("relay stuck", state, rest, load_stays_live, kinds=2)
        for state in QUIET.split()
        if state != "check"
    ],
    Case("relay stuck", "check", rest, knob("load_on", 1), kinds=2, muted=("relay closed",)),
    Case("relay open", "prime", knob("load_on", 1), knob("load_on", 0)),
    Case("relay open", "run", knob("load_on", 1), knob("load_on", 0)),
    Case("relay chatter", "prime", chatter(6), chatter(6)),
    Case("relay chatter", "run", chatter(6), chatter(6)),
    Case("late tick", "prime", late(500), rest),
    Case("late tick", "run", late(500), rest),
    Case("swapped", "check", rest, SWAP, muted=("bad battery",)),
    *[
        Case(
            "swapped",
            state,
            rest,
            raw(pressure=2400, battery=900),
            muted=("bad battery", "high pressure", "dead head"),
        )
        for state in ON.split()
    ],
    *[
        Case("bad battery", state, raw(battery=1200), raw(battery=1199), muted=SUPPLY)
        for state in AWAKE.split()
    ],
    *[
        Case("bad battery", state, raw(battery=3500), raw(battery=3501), muted=SUPPLY)
        for state in AWAKE.split()
    ],
    *[
        Case("bad pressure", state, raw(pressure=205), raw(pressure=204))
        for state in AWAKE.split()
    ],
    *[
        Case(
            "bad pressure",
            state,
            raw(pressure=3891),
            raw(pressure=3892),
            muted=("high pressure", "dead head"),
        )
        for state in AWAKE.split()
    ],
    # A quarter of the sag that 12 A over 50 mohm make: 150 mV.
    Case(
        "no sag",
        "run",
        knob("loaded_mv", 12430),
        knob("loaded_mv", 12470),
        before=knob("loaded_mv", 12430),
    ),
    Case("bad frost", "check", raw(frost=100), raw(frost=99), muted=("frost",)),
    Case("bad frost", "check", raw(frost=2500), raw(frost=2501)),
    *[
        Case("bad current", state, raw(current=4000), raw(current=4001), muted=("stall",))
        for state in AWAKE.split()
    ],
    *[
        Case(
            "no flow",
            state,
            until("still_ms", 5000),
            until("still_ms", 5000),
            100,
            reach=lambda b, state=state: (b.go(state), no_water(b))[1],
            muted=("dry run",),
        )
        for state in ON.split()
    ],
    Case("bad meter", "run", rest, knob("pulses", 0), before=rested_once),
    *[Case("no clock", state, rest, knob("clock_ok", 0)) for state in ("idle", "done")],
    *level("frost", "check", "frost_dc", 20, -1),
]
assert LOADED_MV == 12000
