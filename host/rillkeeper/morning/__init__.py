"""The morning after: what the nights gave, how many are left, and the weather beside them."""
