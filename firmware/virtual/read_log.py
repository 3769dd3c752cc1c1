"""Prints the log on a virtual board's flash: micropython read_log.py IMAGE"""

import sys

from device.files import Files
from device.flashlog import FlashLog
from virtual import flash

_COUNT = 64

flash.mount(sys.argv[1], "/flash")
log = FlashLog(Files("/flash/"))
seq = log.oldest
while seq < log.next_seq:
    lines = log.lines_from(seq, _COUNT)
    if not lines:
        break
    for line in lines:
        print(line)
    seq = int(lines[-1].split(" ")[0]) + 1
