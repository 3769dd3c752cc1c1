"""What `make test` leaves to chance: fresh seeds, each said, each to be repeated."""
