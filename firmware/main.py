"""The board's program. Whatever happens, the relays are off when it ends.

Before the loop is even loaded the files are held against their list: where one is damaged the
loop may still run, to say so and to give its log, but the relay output no longer closes.

An error or Ctrl-C ends at the prompt. The watchdog, once armed, cannot be stopped: a board that
is left at the prompt starts again by itself. Copy files after "service" over serial, which
starts the board without it.
"""

import sys
import time

import machine

from device import manifest, pins
from device.files import Files
from device.output import relays


def main():
    """Parts, then the loop; device/board.py is the loop."""
    row = pins.TABLE[sys.platform]
    relay = relays(machine, row)
    try:
        relay.watch(machine.Timer, row["timer"], time.ticks_ms)
        trouble = ""
        for trouble in manifest.troubles(Files()):
            if trouble:
                relay.failed = True
                print("rillkeeper: the pump does not run:", trouble + "; run: rillkeeper flash")
                break
        from device import board

        board.run(machine, time, row, relay, trouble)
    finally:
        relay.off()


main()
