"""Tests of the desktop tool, by its rooms."""
