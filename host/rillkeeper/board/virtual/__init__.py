"""A virtual board on the desk: its pseudo-terminal, and the pace of the clock on the wall."""
