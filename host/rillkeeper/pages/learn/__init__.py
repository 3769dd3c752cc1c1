"""What was learned, as a page."""
