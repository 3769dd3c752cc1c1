"""Sizing a site on paper: every figure from the plant's own models, nothing printed here."""
