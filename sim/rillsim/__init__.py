"""The plant: battery, cable, pump, lines, sprinkler, soil, weather and faults, and the replay."""
