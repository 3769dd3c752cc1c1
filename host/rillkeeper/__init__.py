"""Desktop side of rillkeeper: site files, sizing, replay and reports."""

__version__ = "0.1.0"
