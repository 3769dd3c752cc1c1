"""A site on paper: the board's limits, and everything that is to be bought."""
