"""Small tests at the bank: what parts causes that the log alone cannot tell apart."""
