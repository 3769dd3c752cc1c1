"""The report page: one HTML file that needs no network and prints on A4.

Only this package imports matplotlib, which is slow to load and not needed for the rest.
"""

from rillkeeper.pages.report.sheet import html_of, write

__all__ = ("html_of", "write")
