"""The virtual board: chips whose other end is the simulator. Not copied to a real board."""
