"""The board's program. Whatever happens, the relay is off when it ends.

An error or Ctrl-C ends at the prompt. The watchdog, once armed, cannot be stopped: a board that
is left at the prompt starts again by itself. Copy files after "service" over serial, which
starts the board without it.
"""

import sys
import time

import machine

from device import pins
from device.output import RelayOutput


def main():
    """Parts, then the loop; device/board.py is the loop."""
    row = pins.TABLE[sys.platform]
    relay = RelayOutput(machine.Pin(row["relay"], machine.Pin.OUT, value=0))
    try:
        relay.watch(machine.Timer, row["timer"], time.ticks_ms)
        from device import board

        board.run(machine, time, row, relay)
    finally:
        relay.off()


main()
