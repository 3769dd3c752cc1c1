"""The sizing as one JSON document: SI units, as the names of the fields say."""

import dataclasses
from math import isfinite
from typing import Any

from rillkeeper.sizing.workings import Workings

SCHEMA = 1


def document(work: Workings) -> dict[str, Any]:
    """Everything that was worked out; what is endless or unknown is null."""
    parts = ("facts", "points", "heads", "volts", "wires", "nights", "suction", "watering")
    found = {part: plain(dataclasses.asdict(getattr(work, part))) for part in parts}
    for part in ("wires", "watering"):  # They stand beside the facts already.
        del found["facts"][part]
    power = {name: getattr(work.power, name) for name in ("pump_efficiency", "whole_efficiency")}
    verdict = {
        "works": work.verdict.works,
        "state": work.verdict.state,
        "sentence": work.verdict.sentence,
        "answers": [dataclasses.asdict(answer) for answer in work.verdict.answers],
    }
    return {
        "schema": SCHEMA,
        "site": work.site.name,
        "verdict": verdict,
        "power": plain({**dataclasses.asdict(work.power), **power}),
        **found,
    }


def plain(value: Any) -> Any:
    """A value that JSON can hold: no infinities, no numbers that are none."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, float) and not isfinite(value):
        return None
    return value
