"""What the recorded nights teach about a site: its uncertain inputs, fitted, with their spread."""

from rillkeeper.learning.fitsite import Learned, learn
from rillkeeper.learning.overlay import site_with_learned

__all__ = ("Learned", "learn", "site_with_learned")
