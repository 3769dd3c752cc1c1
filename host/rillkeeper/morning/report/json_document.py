"""The report as one JSON document: SI and plain units, each named in its key."""

from math import isfinite, isnan
from typing import Any

from rillkeeper.display_units import date_of
from rillkeeper.morning.report.beside_plant import beside_plant
from rillkeeper.morning.report.refill import Refill, refill_of
from rillkeeper.morning.report.report import Event, Report
from rillkeeper.morning.report.terminal import crop_use_mm, deficit_low_mm, deficit_mm
from rillkeeper.morning.report.troubles import troubles_of
from rillkeeper.morning.report.verdict import verdict_of
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.sentences import LEVELS
from rillkeeper.screen import json_text
from rillsim.accounts import Accounts

SCHEMA = 1
"""Grows when a key goes away or changes its meaning."""


def text_of(report: Report) -> str:
    """The document as text, its keys sorted."""
    return json_text(document(report))


def document(report: Report) -> dict[str, Any]:
    """The report as plain dictionaries and lists."""
    verdict = verdict_of(report)
    log = report.log
    return {
        "schema": SCHEMA,
        "site": report.name,
        "first_night": date_of(report.start_day).isoformat(),
        "verdict": {
            "sentence": verdict.sentence,
            **{
                one.key: {"state": one.state, "answer": one.sentence, "detail": one.detail}
                for one in verdict.answers
            },
        },
        "troubles": _troubles(report),
        "nights_left": {
            "middle": _scaled(report.left.middle, 1.0, 2),
            "low": _scaled(report.left.low, 1.0, 2),
            "high": _scaled(report.left.high, 1.0, 2),
            "by": report.left.by,
            "note": report.left.note,
        },
        "source": _source(refill_of(report)),
        "litres_by": report.litres_by,
        "nights": [_night(report, night) for night in report.nights],
        "events": [_event(event) for event in report.events],
        "faults": [
            {
                "name": fault.spec.name,
                "night": fault.spec.night,
                "offset_s": fault.spec.offset_s,
                "severity": fault.spec.severity,
                "grows_s": fault.spec.grows_s,
                "felt": fault.felt,
                "sentence": fault.sentence,
            }
            for fault in report.faults
        ],
        "tests_made": [
            {"test": one.test, "made": one.made, "readings": dict(one.readings)}
            for one in report.small_tests
        ],
        "proofs_left_out": [one.made for one in report.proofs],
        "other_site": list(report.other_site),
        "beside_plant": beside_plant(report),
        "log": {
            "records": len(log.entries),
            "missing": log.missing,
            "duplicates": log.duplicates,
            "gaps": [gap.sentence for gap in log.gaps],
            "damaged_lines": [
                {"line": damage.line, "reason": damage.reason} for damage in log.damages
            ],
        },
    }


def _source(refill: Refill | None) -> dict[str, Any] | None:
    """What is left in a source that can be emptied; null for any other, and for endless nights."""
    if refill is None:
        return None
    return {
        "left_l": _scaled(refill.left_m3, 1e3, 1),
        "whole_l": _scaled(refill.whole_m3, 1e3, 1),
        "taken_beyond_l": _scaled(refill.lacking_m3, 1e3, 1),
        "night_l": _scaled(refill.night_m3, 1e3, 1),
        "nights": _endless(refill.nights),
        "nights_with_usual_rain": _endless(refill.nights_rain),
        "rain_counted": refill.rain_known,
    }


def _endless(nights: float) -> float | None:
    return nights if isfinite(nights) else None


def _troubles(report: Report) -> dict[str, Any]:
    """What is wrong now, worst first; what was and is over; and what `why` said."""
    troubles = troubles_of(report)
    return {
        "open": [
            {
                "what": one.name,
                "since": one.since,
                "since_night_of": None
                if one.since_day is None
                else date_of(one.since_day).isoformat(),
                "causes": list(one.causes),
                "how_bad": one.how_bad or None,
                "state": one.state,
                "look": one.look,
                "told_by": list(one.told_by),
            }
            for one in troubles.open
        ],
        "over": list(troubles.over),
        "why": report.found.sentence if report.found else None,
    }


def _night(report: Report, night: Night) -> dict[str, Any]:
    truth = report.truth_of(night)
    balance = report.balance_of(night)
    reference = balance.reference if balance else None
    return {
        "night_of": date_of(night.day).isoformat(),
        "planned": report.planned(night),
        "share_given": night.share,
        "ran_s": night.run_s,
        "given_l": _scaled(night.given_ml, 1e-3, 3),
        "depth_reckoned_mm": _scaled(night.depth_um, 1e-3, 3),
        "pressure_pa": _scaled(night.pressure_pa, 1.0, 0),
        "load_v": _scaled(night.battery_mv, 1e-3, 3),
        "used_ah": _scaled(night.used_mah, 1e-3, 3),
        "left_ah": _scaled(night.left_mah, 1e-3, 3),
        "nights_left": _scaled(night.nights_tenths, 0.1, 1),
        "prime_s": night.prime_s,
        "what_happened": report.happened(night),
        "depth_on_plot_mm": _scaled(truth.plot_mm if truth else None, 1.0, 3),
        "soil_deficit_mm": _scaled(deficit_mm(report, night), 1.0, 3),
        "soil_deficit_driest_quarter_mm": _scaled(deficit_low_mm(report, night), 1.0, 3),
        "crop_share_driest_quarter": _scaled(truth.stress_low if truth else None, 1.0, 3),
        "plot_share_stressed": _scaled(truth.stressed if truth else None, 1.0, 3),
        "runoff_mm": _scaled(truth.runoff_mm if truth else None, 1.0, 3),
        "drained_mm": _scaled(truth.drained_mm if truth else None, 1.0, 3),
        "rain_mm": _scaled(report.rain_mm(night), 1.0, 3),
        "crop_use_mm": _scaled(crop_use_mm(report, night), 1.0, 3),
        "water_surplus_mm": _scaled(balance.surplus_mm if balance else None, 1.0, 3),
        "reference_et_mm": _scaled(reference.mm if reference else None, 1.0, 3),
        "reference_et_by": reference.method if reference else None,
        "cu_percent": _scaled(truth.cu if truth else None, 1.0, 2),
        "du_percent": _scaled(truth.du if truth else None, 1.0, 2),
    }


def ledger(accounts: Accounts) -> dict[str, Any]:
    """Where energy, charge and water of a replay came from and went to; units end the names."""
    named = {
        "energy": accounts.energy,
        "charge": accounts.charge,
        "water": accounts.water,
        **({"source": accounts.source} if accounts.source.came else {}),
        "soil_mean": accounts.soil_mean,
        "soil_driest_quarter": accounts.soil_driest,
    }
    return {
        name: {
            "came": dict(account.came),
            "became": dict(account.became),
            "off_percent": account.off_percent,
        }
        for name, account in named.items()
    }


def _event(event: Event) -> dict[str, Any]:
    return {
        "number": event.number,
        "night_of": date_of(event.night).isoformat(),
        "when": event.when,
        "since_start_s": event.t_s,
        "level": LEVELS[event.told.level],
        "short": event.told.short,
        "seen": event.told.seen,
        "did": event.told.did,
        "look": event.told.look,
    }


def _scaled(value: float | None, factor: float, digits: int) -> float | None:
    """Rounded, so that a whole week reads well; nothing where it is not known."""
    if value is None or isnan(value):
        return None
    return round(value * factor, digits)
