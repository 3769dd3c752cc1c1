"""The sizing as one JSON document: SI units, as the names of the fields say."""

import dataclasses
from math import isfinite
from typing import Any

from rillkeeper.design.size.advise import Advice
from rillkeeper.design.size.what_if import Spread, Variation
from rillkeeper.design.size.workings import Workings
from rillkeeper.verdict import Answer

SCHEMA = 1
PARTS = (
    "facts",
    "points",
    "heads",
    "volts",
    "wires",
    "shopping",
    "nights",
    "suction",
    "watering",
)


def document(work: Workings) -> dict[str, Any]:
    """Everything that was worked out; what is endless or unknown is null."""
    found = {part: plain(dataclasses.asdict(getattr(work, part))) for part in PARTS}
    for part in ("wires", "watering"):  # They stand beside the facts already.
        del found["facts"][part]
    power = {name: getattr(work.power, name) for name in ("pump_efficiency", "whole_efficiency")}
    verdict = {
        "works": work.verdict.works,
        "state": work.verdict.state,
        "sentence": work.verdict.sentence,
        "answers": [_answer(answer) for answer in work.verdict.answers],
    }
    return {
        "schema": SCHEMA,
        "site": work.site.name,
        "verdict": verdict,
        "power": plain({**dataclasses.asdict(work.power), **power}),
        **found,
    }


def _answer(answer: Answer) -> dict[str, str]:
    found: dict[str, str] = dataclasses.asdict(answer)
    found["change"] = found.pop("detail")
    return found


def variation(found: Variation) -> dict[str, Any]:
    """Each try with its values, its figures and what stands in its way."""
    return {
        "keys": [axis.key for axis in found.axes],
        "tries": [
            {
                "values": list(one.values),
                "facts": plain(dataclasses.asdict(one.facts)) if one.facts else None,
                "works": one.verdict.works if one.verdict else False,
                "conflict": one.conflict,
            }
            for one in found.tries
        ],
    }


def advice(found: Advice) -> dict[str, Any]:
    """The recommendation and what each single change brings."""
    changes = [dataclasses.asdict(change) for change in found.changes]
    singles = plain([dataclasses.asdict(one) for one in found.singles])
    after = plain(dataclasses.asdict(found.after))
    return {"met": found.met, "changes": changes, "after": after, "singles": singles}


def spread(found: Spread) -> dict[str, Any]:
    """Bands, and the share of draws that work."""
    document: dict[str, Any] = plain(dataclasses.asdict(found))
    return document


def plain(value: Any) -> Any:
    """A value that JSON can hold: no infinities, no numbers that are none."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, float) and not isfinite(value):
        return None
    return value
