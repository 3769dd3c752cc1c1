"""The sizing as a page: one HTML file that needs no network and prints on A4.

Like the report page it alone imports matplotlib, which is slow to load.
"""

from rillkeeper.pages.size.sheet import html_of, write

__all__ = ("html_of", "write")
