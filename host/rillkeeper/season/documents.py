"""The answer for programs: one JSON document, and a row a season as CSV."""

import csv
import io
from typing import Any

from rillkeeper.season.answer import Variant
from rillkeeper.season.figures import FIGURES
from rillkeeper.season.reasons import cause_words, help_for, ranked
from rillkeeper.season.words import differences, sentences

SCHEMA = 1


def document(variants: list[Variant], nights: int, seed: int) -> dict[str, Any]:
    """The answer as plain values; amounts carry their units in their names."""
    return {
        "schema": SCHEMA,
        "nights": nights,
        "seed": seed,
        "variants": [_variant(one, nights) for one in variants],
        "differences": [
            {
                "variant": other.name,
                "less": variants[0].name,
                "figures": {
                    one.key: {
                        "mean": _round(one.mean),
                        "low": _round(one.low),
                        "high": _round(one.high),
                        "real": one.real,
                    }
                    for one in found
                },
            }
            for other, found in differences(variants)
        ],
    }


def _variant(one: Variant, nights: int) -> dict[str, Any]:
    low, middle, high = one.soil_band()
    return {
        "name": one.name,
        "years": one.years,
        "sentences": sentences(one, nights),
        "figures": {
            key: dict(zip(("low", "middle", "high"), map(_round, one.band(key)), strict=True))
            for key in FIGURES
        },
        "why": [
            {
                "cause": cause,
                "words": cause_words(cause),
                "nights": count,
                "board_said": dict(sorted(one.said[cause].items())),
                "would_help": help_for(one, cause, nights),
            }
            for cause, count in ranked(one.causes)
        ],
        "by_chance": dict(sorted(one.chance.items())),
        "driest_quarter_mm": [list(map(_round, row)) for row in (low, middle, high)],
        "readily_mm": one.readily_mm,
        "trips_of_middle_year": one.median_trips,
        "off_percent": one.off_percent,
    }


def _round(value: float) -> float | None:
    """Four digits behind the point; nothing where a band has no end."""
    return round(float(value), 4) if abs(value) < 1e300 else None


def csv_text(variants: list[Variant]) -> str:
    """A row a season, RFC 4180."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(["variant", "season", *FIGURES])
    for place, one in enumerate(variants):
        for number, *values in one.kept.rows(one.place, one.last):
            writer.writerow([place, number, *(f"{value:g}" for value in values)])
    return out.getvalue()
