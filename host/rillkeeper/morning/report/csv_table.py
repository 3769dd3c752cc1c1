"""One row a night, or one a trouble, as RFC 4180 CSV, for a spreadsheet."""

import csv
import io
from collections.abc import Iterable
from pathlib import Path

from rillkeeper.display_units import date_of
from rillkeeper.morning.report.report import Report
from rillkeeper.morning.report.terminal import crop_use_mm, deficit_low_mm, deficit_mm
from rillkeeper.morning.report.troubles import OpenTrouble, troubles_of
from rillkeeper.runlog.nights import Night
from rillkeeper.runlog.sentences import WARNING
from rillkeeper.verdict import ACT, LOOK

STATES = {ACT: "stops the watering", LOOK: "look at it"}
OVER = "over, as it seems"
TROUBLES_HEADER = [
    "place",
    "state",
    "what",
    "since_night_of",
    "since",
    "cause_named_by_why",
    "how_bad",
    "the_board_says",
    "what_to_do",
    "told_by",
]
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a cell that begins so for a formula and runs it (OWASP, CSV injection)."""


def write(report: Report, path: Path) -> None:
    """Write the nights to a file."""
    path.write_text(text_of(report), encoding="utf-8", newline="")


def text_of(report: Report) -> str:
    """The nights as CSV text, with CRLF at the end of each line."""
    return _csv(header(report), (_row(report, night) for night in report.nights))


def write_troubles(report: Report, path: Path) -> None:
    """Write the troubles to a file."""
    path.write_text(troubles_text_of(report), encoding="utf-8", newline="")


def troubles_text_of(report: Report) -> str:
    """Every trouble of the one diagnosis as CSV text, worst first; those that are over last."""
    troubles = troubles_of(report)
    rows = [_trouble_row(place, one) for place, one in enumerate(troubles.open, 1)]
    over = [["", OVER, defused(text), *[""] * 7] for text in troubles.over]
    return _csv(TROUBLES_HEADER, [*rows, *over])


def _csv(heading: list[str], rows: Iterable[list[str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heading)
    writer.writerows(rows)
    return out.getvalue()


def _trouble_row(place: int, trouble: OpenTrouble) -> list[str]:
    day = "" if trouble.since_day is None else date_of(trouble.since_day).isoformat()
    texts = (
        trouble.name,
        day,
        trouble.since,
        " or ".join(trouble.causes),
        trouble.how_bad,
        trouble.said,
        trouble.look,
        ", ".join(trouble.told_by),
    )
    return [str(place), STATES[trouble.state], *map(defused, texts)]


def header(report: Report) -> list[str]:
    """The names of the columns, each with its unit."""
    shown = report.shown
    litres, depth = shown.unit("volume"), shown.unit("water depth")
    return [
        "night_of",
        "set",
        "ran [min]",
        f"water [{litres}]",
        f"depth_reckoned [{depth}]",
        f"depth_on_plot [{depth}]",
        f"crop_use [{depth}]",
        f"soil_deficit [{depth}]",
        f"soil_deficit_driest_quarter [{depth}]",
        f"rain [{depth}]",
        "uniformity_cu [%]",
        "uniformity_du [%]",
        f"pressure [{shown.unit('pressure')}]",
        "volts_under_load [V]",
        "charge_used [Ah]",
        "charge_left [Ah]",
        "nights_left",
        "stops_and_warnings",
        "what_happened",
    ]


def defused(text: str) -> str:
    """Text that no spreadsheet runs.

    >>> defused("=1+1"), defused("all given")
    ("'=1+1", 'all given')
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _row(report: Report, night: Night) -> list[str]:
    truth = report.truth_of(night)
    alerts = sum(event.told.level >= WARNING for event in report.events_of(night))

    def shown(value: float | None, dimension: str, factor: float = 1.0, more: int = 1) -> str:
        """With a digit more than the table: a spreadsheet goes on reckoning."""
        if value is None or value != value:
            return ""
        decimals = report.shown.decimals(dimension) + more
        return f"{report.shown.number(value * factor, dimension):.{decimals}f}"

    def plain(value: float | None, decimals: int) -> str:
        return "" if value is None or value != value else f"{value:.{decimals}f}"

    return [
        date_of(night.day).isoformat(),
        defused(report.planned(night)),
        plain(None if night.run_s is None else night.run_s / 60, 1),
        shown(night.given_ml, "volume", 1e-6),
        shown(night.depth_um, "water depth", 1e-6),
        shown(truth.plot_mm if truth else None, "water depth", 1e-3),
        shown(crop_use_mm(report, night), "water depth", 1e-3),
        shown(deficit_mm(report, night), "water depth", 1e-3),
        shown(deficit_low_mm(report, night), "water depth", 1e-3),
        shown(report.rain_mm(night), "water depth", 1e-3),
        plain(truth.cu if truth else None, 1),
        plain(truth.du if truth else None, 1),
        shown(night.pressure_pa, "pressure"),
        shown(night.battery_mv, "voltage", 1e-3),
        shown(night.used_mah, "charge", 3.6),
        shown(night.left_mah, "charge", 3.6),
        plain(None if night.nights_tenths is None else night.nights_tenths / 10, 1),
        str(alerts),
        defused(report.happened(night)),
    ]
