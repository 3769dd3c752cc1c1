"""Every record, rule and reading in words, for every fitting of sensors."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from io import StringIO
from itertools import product

from rich.console import Console

from keeper.clockwatch import VERDICTS
from keeper.records import CAUSE_RULE, CAUSES, KINDS, RAINED
from keeper.rules import ACTION, END_RUN, NAME, NEEDS, REFUSE, RULES, THEN
from keeper.sense import QUALITIES
from keeper.standstill import KINDS as WAYS_TO_WORK
from rillkeeper.board.link.state import BoardTime, Meter, Status, TwoRelays
from rillkeeper.commands import status
from rillkeeper.display_units import Shown
from rillkeeper.runlog import sentences
from rillkeeper.runlog.fitted import Fitted
from rillkeeper.runlog.lines import Entry

TYPICAL = {
    "pressure_pa": 145_000, "rest_pa": 11_000, "base_pa": 144_000, "battery_mv": 12_150,
    "rest_mv": 12_610, "loaded_mv": 12_180, "resistance_mohm": 34, "current_ma": 12_400,
    "flow_ml_min": 17_000, "left_mah": 34_000, "used_mah": 4_200, "given_ml": 340_000,
    "on_s": 1200, "run_s": 1200, "prime_ms": 1500, "after_ms": 1000, "frost_dc": 152, "amount": 60,
    "unit": 2, "runs": 2, "run": 1, "set": 1, "target": 1_014_000, "depth_um": 3000,
    "nights_tenths": 14, "drift_permille": 20, "planned_s": 3600, "given_s": 2280,
    "held_ms": 600, "tries": 1, "settings_ok": 1, "state": 1, "closed": 1, "off_s": 90,
}  # fmt: skip
"""Numbers as a sound board of the demonstration writes them."""
_JUDGED = {
    "clock_bad": range(1, len(VERDICTS)), "_bad": range(1, len(QUALITIES)),
    "closed_off": range(1, len(WAYS_TO_WORK)), "stuck_relay": (0, 1, 2), "spare_mah": (-3500,),
}  # fmt: skip
"""By the end of its quantity: values of a rule that is not a plain number."""


@dataclass(frozen=True)
class Rendered:
    """One sentence, what it is of, and on which board."""

    where: str
    fitted: Fitted
    told: sentences.Told


EVERYTHING = Fitted(flow=True)


def fittings() -> Iterator[Fitted]:
    """Every set of sensors that a board accepts, one that guards the pump among them; each with
    and without what is no sensor of the pump: rain contact, second relay, clock chip. The flow
    meter, which only goes with pressure, is there and not with each other one."""
    for row in product((True, False), repeat=5):
        found = Fitted(*row, flow=True)
        if found.battery or found.pressure:
            bare = replace(found, rain=False, second_relay=False, clock_chip=False)
            yield from (found, replace(bare, flow=False))
            if not found.pressure:
                yield from (replace(found, flow=False), bare)
    for name in ("rain", "second_relay", "clock_chip", "flow"):
        yield replace(EVERYTHING, **{name: False})


def fitting_name(fitted: Fitted) -> str:
    """ "battery+pressure"."""
    return "+".join(name for name, there in asdict(fitted).items() if there)


def may_speak(row: tuple[str, ...], fitted: Fitted) -> bool:
    """Whether a rule can be watched at all: whether the relay has closed is told by the load
    side, or else by the battery (keeper/relaywatch.py)."""
    by_relay = row[NAME] in ("relay open", "relay chatter", "fuse blown")
    return has(fitted, row[NEEDS]) and (
        not by_relay or fitted.load_sense or fitted.battery or fitted.current
    )


def has(fitted: Fitted, needs: str) -> bool:
    """Whether all these are there; of two parted by a stroke either will do."""
    there = asdict(fitted)
    return all(any(there[name] for name in need.split("/")) for need in needs.split())


def rendered(fitted: Fitted, shown: Shown) -> Iterator[Rendered]:
    """All that the board of this fitting may write, in words."""
    for kind, names in KINDS:
        if kind in ("trip", "warn") or (kind == "rain" and not fitted.rain):
            continue
        for numbers in _rows(kind, names):
            if numbers.get("cause") == RAINED and kind != "boot" and not fitted.rain:
                continue
            told = sentences.tell(_entry(kind, names, numbers), shown, fitted)
            yield Rendered(kind, fitted, told)
    for number, row in enumerate(RULES):
        if not may_speak(row, fitted):
            continue
        for value, action in product(_values(row), sorted({row[ACTION], row[THEN], END_RUN})):
            kind = "warn" if action < REFUSE else "trip"
            numbers = {"rule": number, "value": value, "limit": 2000, "action": action}
            told = sentences.tell(_entry(kind, dict(KINDS)[kind], numbers), shown, fitted)
            yield Rendered(f"{kind} {row[NAME]}", fitted, told)


def _values(row: tuple[str, ...]) -> tuple[int, ...]:
    for ending, values in _JUDGED.items():
        if row[1].endswith(ending):
            return tuple(values)
    return (1500,)


def _rows(kind: str, names: tuple[str, ...]) -> Iterator[dict[str, int]]:
    """The choices that make another sentence of a record."""
    causes = (*range(len(CAUSES)), CAUSE_RULE + 1)  # One rule: its words are those of its trip.
    choices = {
        "boot": {"cause": range(3), "settings_ok": (0, 1)},
        "set": {"set": (0, 1)},
        "stop": {"cause": causes},
        "given": {"cause": causes, "set": (0, 1)},
        "skip": {"cause": causes, "value": (0, 3)},
        "clock": {"verdict": range(len(VERDICTS))},
        "rain": {"closed": (0, 1)},
        "hand": {"command": range(8), "value": (0, 3)},
    }.get(kind, {})
    for values in product(*choices.values()):
        yield dict(zip(choices, values, strict=True))


def _entry(kind: str, names: tuple[str, ...], numbers: dict[str, int]) -> Entry:
    all_numbers = {name: numbers.get(name, TYPICAL.get(name, 0)) for name in names}
    return Entry(1, 20600, 80000, True, kind, all_numbers, 20600)


def status_text(fitted: Fitted, load_on: int, relay: int) -> str:
    """One look at a board in words; where a sensor is not fitted its place holds a number."""
    now = Status(
        state="run" if relay else "idle", relay=relay, trouble="", pressure_pa=145_000,
        battery_mv=12_150, left_mah=34_000, load_on=load_on, contacts=1, unasked=0, oldest=0,
        next=9, waiting=0, lost=0, log_failed=False, slowest_ms=0, passed_over=0,
        relay_failed=False, two_relays=TwoRelays("", None) if fitted.second_relay else None,
        meter=Meter(9000, False) if fitted.flow else None,
    )  # fmt: skip
    time = BoardTime(None, False, "own")
    screen = Console(width=400, file=StringIO(), highlight=False)
    screen.print(status.table_of(now, time, fitted))
    table = screen.file.getvalue()
    return status.line_of(now, time, fitted) + status.relay_text(now, fitted) + table
