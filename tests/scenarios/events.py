"""The log in the words of a scenario."""

from keeper import records, rules
from keeper.clockwatch import VERDICTS

RULE_NAMES = tuple(row[rules.NAME] for row in rules.RULES)


def event_of(row: list[int]) -> str:
    """A record of the log in the words of ``expect``, or nothing."""
    kind = row[records.KIND]
    number = row[records.FIRST]
    if kind in (records.TRIP, records.WARN):
        return f"{records.KINDS[kind][0]} {RULE_NAMES[number]}"
    if kind == records.SKIP:
        return f"skip {records.CAUSES[row[records.FIRST + 1]]}"
    if kind == records.BOOT and number == records.POWER_BROKE_RUN:
        return "power lost in a run"
    if kind == records.SHORT:
        return "short"
    if kind == records.CLOCK and number:
        return f"clock {VERDICTS[number]}"
    return ""


EVENTS = (
    {f"{kind} {name}" for kind in ("trip", "warn") for name in RULE_NAMES}
    | {f"skip {cause}" for cause in records.CAUSES}
    | {f"clock {verdict}" for verdict in VERDICTS[1:]}
    | {"short", "power lost in a run"}
)


def cause_of(cause: int) -> str:
    """Why a set ended, in words."""
    if cause >= records.CAUSE_RULE:
        return RULE_NAMES[cause - records.CAUSE_RULE]
    return str(records.CAUSES[cause])
