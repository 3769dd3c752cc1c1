"""The plan of the coming nights as a JSON document: SI units, as the names of the fields say."""

from typing import Any

from rillkeeper.display_units import clock_text, date_of
from rillkeeper.morning.coming.plan import Coming, ComingNight
from rillkeeper.morning.coming.words import sentences


def document(plan: Coming) -> dict[str, Any]:
    """The plan as plain dictionaries and lists."""
    permit = plan.site.permit
    return {
        "first_night": date_of(plan.start.day).isoformat(),
        "nights_left": _rounded(plan.start.nights_left),
        "nights_left_low": _rounded(plan.start.low),
        "nights_left_high": _rounded(plan.start.high),
        "nights_left_note": plan.start.left_note or None,
        "nights_on_a_full_charge": _rounded(plan.start.full_nights),
        "night_m3": _rounded(plan.night_m3),
        "source_m3": _rounded(plan.start.source_m3),
        "season": {
            "since": date_of(plan.start.season.since_day).isoformat(),
            "taken_m3": _rounded(plan.start.season.m3),
            "unknown_nights": plan.start.season.unknown_nights,
            "permit_m3": permit.season_m3 or None,
            "permit_m3_a_day": permit.day_m3 or None,
            "used_up_before_night_of": None
            if plan.permit_ends is None
            else date_of(plan.permit_ends).isoformat(),
        },
        "sets": [
            {
                "set": one.number,
                "start": clock_text(one.start_s),
                "pump_s": round(one.pump_s),
                "runs": one.runs,
                "m3": _rounded(one.m3),
            }
            for one in plan.sets
        ],
        "nights": [_night(night) for night in plan.nights],
        "sentences": sentences(plan),
    }


def _night(night: ComingNight) -> dict[str, Any]:
    trip, refill = night.trip, night.refill
    return {
        "night_of": date_of(night.day).isoformat(),
        "nights_left": _rounded(night.nights_left),
        "source_m3": _rounded(night.source_m3),
        "season_m3": _rounded(night.season_m3),
        "over_permit": night.over_permit,
        "battery_home": trip
        and {
            "away": clock_text(trip.away_s),
            "back": clock_text(trip.back_s),
            "earliest": date_of(trip.earliest).isoformat(),
            "by_habit": trip.by_habit,
            "charged": _rounded(trip.charged),
        },
        "refill_m3": _rounded(refill.wanted_m3) if refill else None,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
