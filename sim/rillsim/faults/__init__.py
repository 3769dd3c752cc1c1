"""What can go wrong: the catalogue, how each fault acts, and how it shows."""
