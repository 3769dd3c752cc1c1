"""The garden: weather, soil, crop, and the spray over the plot."""
