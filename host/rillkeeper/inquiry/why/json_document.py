"""The answer as one JSON document: plain units, each named in its key."""

from typing import Any

import numpy as np

from rillkeeper.display_units import date_of
from rillkeeper.inquiry.why.answer import Inquiry, headline_of
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.sign_words import evidence_words
from rillkeeper.inquiry.why.signs import SIGNS
from rillkeeper.inquiry.why.small_tests.worth import Worth
from rillkeeper.screen import json_text

SCHEMA = 1
"""Grows when a key goes away or changes its meaning."""


def text_of(inquiry: Inquiry) -> str:
    """The document as text, its keys sorted."""
    return json_text(document(inquiry))


def document(inquiry: Inquiry) -> dict[str, Any]:
    """The answer as plain dictionaries and lists."""
    diagnosis = inquiry.diagnosis
    headline = headline_of(diagnosis)
    small = inquiry.small
    return {
        "schema": SCHEMA,
        "site": inquiry.site.name,
        "sentence": headline.sentence,
        "look": headline.look,
        "first_answer": list(diagnosis.first),
        "told_apart": not diagnosis.alike,
        "nothing_wrong_probability": _rounded(diagnosis.nothing),
        "causes": [_cause(inquiry, finding) for finding in diagnosis.findings],
        "further_troubles": [
            {
                "first_answer": list(trouble.names),
                "cause": _cause(inquiry, trouble.finding),
            }
            for trouble in diagnosis.troubles[1:]
        ],
        "next_test": _test(small.best) if small and small.best else None,
        "small_tests": [_test(one) for one in small.worths] if small else [],
        "tests_made": [
            {"test": one.test, "made": one.made, "readings": dict(one.readings)}
            for one in (small.made if small else ())
        ],
        "nights": len(diagnosis.evidence.nights),
        "signs": _signs(diagnosis),
        "notes": inquiry.notes,
        "log": {
            "missing_records": inquiry.log.missing,
            "damaged_lines": len(inquiry.log.damages),
        },
    }


def _cause(inquiry: Inquiry, finding: Finding) -> dict[str, Any]:
    return {
        "name": finding.cause.name,
        "probability": _rounded(finding.probability),
        "since_night_of": date_of(finding.since).isoformat(),
        "since_night": finding.onset.night + 1,
        "course": finding.onset.shape,
        "fault": finding.mode.fault,
        "severity": _rounded(finding.mode.severity_on(inquiry.site, finding.severity)),
        "how_bad": finding.mode.words(finding.severity, inquiry.site),
        "evidence": evidence_words(inquiry.diagnosis, finding, inquiry.shown),
        "look": finding.cause.look,
        "look_minutes": finding.cause.effort_min,
        "what_tells_it": finding.cause.tell,
    }


def _test(one: Worth) -> dict[str, Any]:
    """One small test that could be made."""
    return {
        "name": one.test.name,
        "title": one.test.title,
        "walk_minutes": one.test.walk_min,
        "information_bits": _rounded(one.bits),
        "right_before": _rounded(one.right_now),
        "right_after": _rounded(one.right_after),
    }


def _signs(diagnosis: Diagnosis) -> list[dict[str, Any]]:
    """Each sign of each run, as it is drawn."""
    comparison = diagnosis.comparison
    found = []
    for attempt, run in enumerate(diagnosis.attempts.runs):
        if run is None:
            continue
        for place, sign in enumerate(SIGNS):
            value = comparison.off[attempt, place]
            if np.isnan(value):
                continue
            found.append(
                {
                    "night_of": date_of(run.night).isoformat(),
                    "run": run.run,
                    "sign": sign.key,
                    "unit": sign.unit,
                    "off": _rounded(sign.number(value)),
                    "sound_deviation": _rounded(sign.number(comparison.spread[attempt, place])),
                }
            )
    return found


def _rounded(value: float) -> float:
    return float(f"{value:.5g}")
