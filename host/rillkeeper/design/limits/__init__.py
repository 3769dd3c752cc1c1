"""The board's limits, derived from a site."""
