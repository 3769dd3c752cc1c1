"""The run log: the archive that keeps it, its lines, runs and nights, and what they say."""
