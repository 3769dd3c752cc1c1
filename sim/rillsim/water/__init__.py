"""The water side: suction, pump, pipes, sprinkler."""
