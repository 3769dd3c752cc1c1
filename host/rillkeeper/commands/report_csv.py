"""The CSV files of a report, for `report` and `week`."""

from rillkeeper.commands import output_file
from rillkeeper.morning.report import csv_table
from rillkeeper.morning.report.report import Report


def save_csvs(report: Report, nights: str | None, troubles: str | None) -> None:
    """The nights and the troubles, each where a file was asked for."""
    if nights:
        output_file.save("csv", nights, lambda path: csv_table.write(report, path))
    if troubles:
        output_file.save("csv", troubles, lambda path: csv_table.write_troubles(report, path))
