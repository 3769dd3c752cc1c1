"""Everything that the product says, to be read in one go and held against what can be known."""
