"""The answer as one JSON document: plain units, each named in its key."""

import json
from typing import Any

import numpy as np

from rillkeeper.display_units import date_of
from rillkeeper.inquiry.why.answer import Account
from rillkeeper.inquiry.why.diagnosis import Diagnosis
from rillkeeper.inquiry.why.features import FEATURES
from rillkeeper.inquiry.why.rank import Finding
from rillkeeper.inquiry.why.signwords import evidence_words
from rillkeeper.inquiry.why.verdict import verdict_of

SCHEMA = 1
"""Grows when a key goes away or changes its meaning."""


def text_of(account: Account) -> str:
    """The document as text, its keys sorted."""
    return json.dumps(document(account), sort_keys=True, indent=2, allow_nan=False)


def document(account: Account) -> dict[str, Any]:
    """The answer as plain dictionaries and lists."""
    diagnosis = account.diagnosis
    verdict = verdict_of(diagnosis)
    return {
        "schema": SCHEMA,
        "site": account.site.name,
        "sentence": verdict.sentence,
        "look": verdict.look,
        "first_answer": list(diagnosis.first),
        "told_apart": not diagnosis.alike,
        "nothing_wrong_probability": _rounded(diagnosis.nothing),
        "causes": [_cause(account, finding) for finding in diagnosis.findings],
        "further_troubles": [
            {
                "first_answer": list(trouble.names),
                "cause": _cause(account, trouble.finding),
            }
            for trouble in diagnosis.troubles[1:]
        ],
        "nights": len(diagnosis.evidence.nights),
        "signs": _signs(diagnosis),
        "notes": account.notes,
        "log": {
            "missing_records": account.log.missing,
            "damaged_lines": len(account.log.damages),
        },
    }


def _cause(account: Account, finding: Finding) -> dict[str, Any]:
    return {
        "name": finding.cause.name,
        "probability": _rounded(finding.probability),
        "since_night_of": date_of(finding.since).isoformat(),
        "since_night": finding.onset.night + 1,
        "course": finding.onset.shape,
        "fault": finding.mode.fault,
        "severity": _rounded(finding.mode.severity_on(account.site, finding.severity)),
        "how_bad": finding.mode.words(finding.severity, account.site),
        "evidence": evidence_words(account.diagnosis, finding, account.shown),
        "look": finding.cause.look,
        "look_minutes": finding.cause.effort_min,
        "what_tells_it": finding.cause.tell,
    }


def _signs(diagnosis: Diagnosis) -> list[dict[str, Any]]:
    """Each sign of each run, as it is drawn."""
    reading = diagnosis.reading
    found = []
    for attempt, run in enumerate(diagnosis.attempts.runs):
        if run is None:
            continue
        for place, feature in enumerate(FEATURES):
            value = reading.off[attempt, place]
            if np.isnan(value):
                continue
            found.append(
                {
                    "night_of": date_of(run.night).isoformat(),
                    "run": run.run,
                    "sign": feature.key,
                    "unit": feature.unit,
                    "off": _rounded(feature.number(value)),
                    "sound_deviation": _rounded(feature.number(reading.spread[attempt, place])),
                }
            )
    return found


def _rounded(value: float) -> float:
    return float(f"{value:.5g}")
