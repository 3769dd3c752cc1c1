"""What touches the hardware of a board: pins, flash, clock, watchdog, serial line, the loop."""
