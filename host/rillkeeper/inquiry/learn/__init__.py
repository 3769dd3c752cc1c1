"""What the recorded nights teach about a site: its uncertain inputs, fitted, with their spread."""

from rillkeeper.inquiry.learn.fit_site import LearnedSite, learn
from rillkeeper.inquiry.learn.overlay import site_with_learned

__all__ = ("LearnedSite", "learn", "site_with_learned")
