"""What `rillkeeper flash` runs on the board itself, in MicroPython."""
