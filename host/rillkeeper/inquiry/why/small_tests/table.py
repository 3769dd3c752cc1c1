"""The small tests: what the person does, what is measured, how far they walk, what to mind.

The board's protections stay armed in all of them, with its own limits: no test asks for a pump
that works against a shut line for longer than its dead-head rule lets it.
"""

from dataclasses import dataclass

from rillkeeper.errors import UsageMistake
from rillsim.site import BoardSpec

OPEN, SHUT, BUCKET, RESTED = range(4)
"""How the pump runs: as ever, against the shut tap, from a bucket, after a minute and an hour."""

PLAIN, RATIO, OF_SOUND, LENGTH, PRESSURE = range(5)
"""How a reading is shown: as it is, or from its logarithm; as what it is of the sound one."""

SETTLE_S = 30.0
"""The pump works for so long before anything is read."""
MINUTE_S, HOUR_S = 60.0, 3600.0

CAUTION = (
    "You are alone at the bank: tell somebody, keep both feet on dry ground, by night with a lamp "
    "on your head. Dry hands at battery and plugs. Ctrl-C, the board's button or the hand switch "
    "stops the pump."
)

STAND_CLEAR = "Stand clear: the board is on its own now, and a set that is due begins."


@dataclass(frozen=True)
class Ask:
    """A number that the person measures."""

    question: str
    dimension: str
    most: float
    """A larger one, in SI units, is a slip of the pen."""


@dataclass(frozen=True)
class Reading:
    """One number that a test gives, as it is compared."""

    key: str
    noise: float
    """One standard deviation of meter, watch, steps or board: common practice, no source."""
    words: str
    """With a place for its number."""
    shape: int = PLAIN


@dataclass(frozen=True)
class SmallTest:
    """One test."""

    name: str
    title: str
    way: int
    before: str
    """What is to be done before the pump starts."""
    hands: str
    """The same on a virtual board."""
    asks: tuple[Ask, ...]
    """While the pump works."""
    after: str
    hands_after: str
    readings: tuple[Reading, ...]
    walk_min: float
    """Walking, turning and waiting."""
    caution: str
    needs_pressure: bool = True

    def fits(self, board: BoardSpec) -> bool:
        """Whether the board's sensors are enough for it."""
        return board.battery_fitted and (board.pressure_fitted or not self.needs_pressure)


TESTS = (
    SmallTest(
        "volts",
        "Volts at both ends of the cable, pump on",
        OPEN,
        "Have a voltmeter ready, set to 20 V direct; tap open, all as on any night.",
        "tap open",
        (
            Ask(
                "Volts at the battery, probes on its posts and not on the clamps", "voltage", 20.0
            ),
            Ask("Volts in the pump's plug", "voltage", 20.0),
        ),
        "",
        "",
        (
            Reading("drop", 0.015, "from the battery's posts to the pump {} V are lost"),
            Reading("feed", 0.020, "from the posts to what the board reads {} V are lost"),
        ),
        4.0,
        "Touch one pole with one probe at a time; never bridge the posts.",
        needs_pressure=False,
    ),
    SmallTest(
        "throw",
        "How far the spray reaches",
        OPEN,
        "Tap open, no wind to speak of; mark where the nozzle stands.",
        "tap open",
        (Ask("How far the spray reaches from the nozzle, by steps or tape", "length", 60.0),),
        "",
        "",
        (Reading("throw", 0.06, "the spray reaches {}", LENGTH),),
        3.0,
        "Wet grass on a bank is slippery: go round the spray, not through it.",
        needs_pressure=False,
    ),
    SmallTest(
        "bucket",
        "A bucket and a watch at the hose's end",
        OPEN,
        "Tap open. Have a bucket of known size and a watch ready; the nozzle stays on, and the "
        "sprinkler is held into the bucket.",
        "tap open",
        (
            Ask("Litres that ran into the bucket (as in: 10 L)", "volume", 0.2),
            Ask("Seconds that it took (as in: 36 s)", "time", 600.0),
        ),
        "Stand the sprinkler in its place again.",
        "",
        (
            Reading(
                "conductance",
                0.04,
                "the nozzle passes {} times what this pressure should",
                OF_SOUND,
            ),
        ),
        6.0,
        "Set the bucket on level ground first: ten litres weigh ten kilograms.",
    ),
    SmallTest(
        "tap",
        "A start against the shut tap",
        SHUT,
        "Pump off: shut the tap at the outlet. The board starts the pump and stops it by itself "
        "within about two seconds (its dead-head rule); that is the test, not a fault.",
        "tap shut",
        (),
        "Open the tap again.",
        "tap open",
        (
            Reading("rise", 0.03, "the pump reached {} before the board stopped it", PRESSURE),
            Reading("held", 0.02, "the shut line kept {} of it"),
        ),
        3.0,
        "Never hold the tap shut against a running pump, and never set a limit higher for it: a "
        "pump that passes its rating bursts hoses. Stand clear of the hose's joints.",
    ),
    SmallTest(
        "lift",
        "The pump out of a bucket, suction line out of the way",
        BUCKET,
        "Pump off: take the suction line off the pump's inlet and put a short sound hose from it "
        "into a full bucket (15 L or more) that stands as high as the pump. Tap open.",
        "tap open suction bucket",
        (),
        "Put the suction line back on, its clamp tight.",
        "suction line",
        (
            Reading(
                "lifted", 0.010, "out of the bucket the pressure is {} times what it was", RATIO
            ),
        ),
        15.0,
        "A full bucket is heavy: fill it where it stands. The pump must not suck it empty: half a "
        "minute is enough.",
    ),
    SmallTest(
        "rest",
        "A start after an hour's rest against one after a minute",
        RESTED,
        "Tap open. Nothing is to be done but to wait an hour.",
        "tap open",
        (),
        "",
        "",
        (
            Reading(
                "drained", 0.10, "after an hour the pump takes {} times as long to prime", RATIO
            ),
        ),
        70.0,
        "Do not wait on the bank: the board starts the pump by itself after the hour, so keep "
        "children away from pond and hose.",
    ),
)
BY_NAME = {test.name: test for test in TESTS}


def test_of(name: str) -> SmallTest:
    """The test of a name. Raises UsageMistake."""
    if name not in BY_NAME:
        raise UsageMistake(f'there is no test "{name}"; there is {", ".join(BY_NAME)}')
    return BY_NAME[name]
