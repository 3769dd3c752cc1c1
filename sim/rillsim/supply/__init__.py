"""The electric side: battery, cable and clamps."""
