"""The morning after: a run log told night by night."""
