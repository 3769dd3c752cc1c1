"""Runs before anything else after power-up or reset: the relays are off before any other thought.

The numbers are those of the two relay pins in device/pins.py, where both boards have them; they
stand here because nothing that could be damaged or missing may come before.
"""

import machine

machine.Pin(18, machine.Pin.OUT, value=0)
machine.Pin(4, machine.Pin.OUT, value=0)
