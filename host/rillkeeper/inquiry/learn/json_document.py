"""What was learned as one JSON document: values in the site file's own units, and in SI."""

from typing import Any

from rillkeeper.display_units import date_of
from rillkeeper.inquiry.learn import summary
from rillkeeper.inquiry.learn.fit_site import LearnedSite
from rillkeeper.inquiry.learn.overlay import Source
from rillkeeper.screen import json_text

SCHEMA = 1


def text_of(learned: LearnedSite, source: Source) -> str:
    """The document as text, its keys sorted."""
    return json_text(document(learned, source))


def document(learned: LearnedSite, source: Source) -> dict[str, Any]:
    """The same as plain dictionaries and lists."""
    system = learned.site.units
    return {
        "schema": SCHEMA,
        "site": learned.site.name,
        "source": source.board,
        "nights": source.nights,
        "runs": len(learned.runs),
        "runs_left_out": len(learned.left_out),
        "readings": len(learned.model.readings),
        "agrees": learned.agrees,
        "inputs": [
            {
                "key": one.about.key,
                "told": one.told,
                "site_file": summary.shown_value(one.about.row, one.about.centre, system, 5),
                "learned": summary.shown_value(one.about.row, one.value, system, 5),
                "spread": summary.shown_value(one.about.row, one.spread, system, 2),
                "share_of_expected_spread": round(one.share, 3),
            }
            for one in learned.inputs
        ],
        "nights_compared": [
            {
                "night_of": date_of(row.night).isoformat(),
                "what": row.quantity,
                "unit": "Pa" if row.dimension == "pressure" else "V",
                "recorded": round(row.recorded, 4),
                "by_site_file": round(row.before, 4),
                "by_learned": round(row.after, 4),
            }
            for row in summary.night_means(learned)
        ],
        "notes": summary.notes(learned),
    }
