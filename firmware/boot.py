"""Runs before anything else after power-up or reset: the relay is off before any other thought.

The number is that of the relay pin in device/pins.py, where both boards have it; it stands here
because nothing that could be damaged or missing may come before it.
"""

import machine

machine.Pin(18, machine.Pin.OUT, value=0)
