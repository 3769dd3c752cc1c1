"""A board and what is done to it: its serial line, its firmware, its proof, a virtual one."""
