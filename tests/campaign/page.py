"""The results of a campaign: one page, and the same as JSON."""

import json
import re
from collections import Counter, defaultdict
from pathlib import Path
from typing import NamedTuple

from rillkeeper.pages import template
from tests.campaign import phases
from tests.campaign.part import Outcome

FAILURES_SHOWN = 200
"""Rows; the JSON has all of them."""
WORST_FIRST = ("harmed", "wrong", "right", "silent", "not felt")


class Cell(NamedTuple):
    """One cell of the matrix."""

    kind: str
    """Its worst verdict, as the style sheet names it."""
    words: tuple[str, ...]


def write(outcomes: list[Outcome], seed: int, path: Path) -> None:
    """Write the page to a file, and beside it the JSON document."""
    template.save(html_of(outcomes, seed), path)
    document = {"seed": seed, "parts": [part_as_json(one) for one in outcomes]}
    text = json.dumps(document, indent=1) + "\n"
    path.with_suffix(".json").write_text(text, encoding="utf-8", newline="\n")


def part_as_json(one: Outcome) -> dict[str, object]:
    """All that is known of a part."""
    return {
        "name": one.part.name,
        "cases": one.tried,
        "of": one.total,
        "seconds": round(one.seconds, 1),
        "failed": one.failed,
        "verdicts": dict(one.verdicts),
        "summary": one.part.summary(one.rows),
        "failures": [
            {"case": case, "verdict": verdict, "told": told, "again": one.again(case)}
            for case, verdict, told in one.failures
        ],
        "cells": {case: {"verdict": one.verdict(case), **row} for case, row in one.rows.items()},
    }


def html_of(outcomes: list[Outcome], seed: int) -> str:
    """The page as text."""
    failed = [one.part.name for one in outcomes if one.failed]
    lead = f"Not met: {', '.join(failed)}." if failed else "Every goal is met, as far as it went."
    return template.render(
        "campaign",
        folder=Path(__file__).parent,
        title="rillkeeper campaign",
        heading="What chance finds",
        kicker=f"First seed {seed}. A part that was cut short goes on with the next call.",
        lead=lead,
        parts=[section_of(one) for one in outcomes],
    )


def section_of(one: Outcome) -> dict[str, object]:
    """What the template says of a part."""
    counts = one.verdicts
    worst = sorted(counts, key=lambda verdict: (verdict not in one.part.allowed, verdict))
    failures = grouped(one)
    return {
        "name": one.part.name,
        "sentence": one.part.sentence,
        "done": f"{one.tried} of {one.total}" if one.total else f"{one.tried} so far",
        "minutes": f"{one.seconds / 60.0:.1f}",
        "counts": [
            (verdict, counts[verdict], f"{100.0 * counts[verdict] / len(one.rows):.1f} %")
            for verdict in worst
        ],
        "summary": one.part.summary(one.rows),
        "matrix": matrix_of(one) if one.part is phases.PART else None,
        "failures": failures[:FAILURES_SHOWN],
        "more": max(len(failures) - FAILURES_SHOWN, 0),
    }


def grouped(one: Outcome) -> list[tuple[int, str, str, str]]:
    """Failures, the worst first and alike ones together: how many, verdict, what, again with."""
    found: dict[tuple[str, ...], list[tuple[str, str]]] = defaultdict(list)
    for case, verdict, told in one.failures:
        if one.part.group is None:
            found[verdict, case].append((case, told))
        else:
            key = one.part.group(case)
            alike = re.sub(r"\d+(\.\d+)?", "", told.partition(" (said")[0])
            found[verdict, key, alike].append((case, f"{key.replace('_', ' ')}: {told}"))
    order = {verdict: place for place, verdict in enumerate(WORST_FIRST)}
    rows = [
        (len(alike), key[0], alike[0][1], one.again(alike[0][0])) for key, alike in found.items()
    ]
    return sorted(rows, key=lambda row: (order.get(row[1], len(order)), -row[0]))


def matrix_of(one: Outcome) -> dict[str, object]:
    """Fault by phase: how many sites of each verdict."""
    found: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for case in one.rows:
        _, fault, phase = case.split("/")
        found[fault, phase][one.verdict(case)] += 1
    return {
        "heads": phases.PHASES,
        "rows": [
            (fault.replace("_", " "), [cell_of(found[fault, phase]) for phase in phases.PHASES])
            for fault in phases.FAULTS
        ],
    }


def cell_of(verdicts: Counter[str]) -> Cell:
    """The counts of one cell, the worst first."""
    order = [verdict for verdict in (*WORST_FIRST, "fell over") if verdicts[verdict]]
    if not order:
        return Cell("none", ("–",))
    words = tuple(f"{verdicts[verdict]} {verdict}" for verdict in order)
    return Cell(order[0].replace(" ", "-"), words)
