"""Starts a virtual board whose flash is recorded: micropython -i prompt_board.py JOURNAL ERROR ...

The rest of the words are those of firmware/virtual/start.py. Each operation on the flash goes to
JOURNAL too; each write is answered with ERROR, unless that is 0. Once the flash is mounted MOUNTED
is sent in place of a sleep.
"""

import struct
import sys

from virtual import chips, flash

_ERASE = 6
MOUNTED = 0xFFFFFFFD
ERROR = int(sys.argv[2])


class Recorded(flash.ImageFile):
    """Notes programs and erases: sort, place, length, bytes."""

    journal = open(sys.argv[1], "ab")

    def writeblocks(self, block, buffer, offset=None):
        if ERROR:
            return -ERROR
        super().writeblocks(block, buffer, offset)
        if offset is not None:
            self.note(1, block * flash.BLOCK_BYTES + offset, buffer)

    def ioctl(self, request, block):
        if request == _ERASE and ERROR:
            return -ERROR
        if request == _ERASE:
            self.note(0, block * flash.BLOCK_BYTES, b"")
        return super().ioctl(request, block)

    def note(self, sort, place, data):
        self.journal.write(struct.pack("<BII", sort, place, len(data)))
        self.journal.write(data)
        self.journal.flush()


def mount(image, place):
    """Mount it, and tell whoever holds the terminal that the board may be interrupted from now."""
    bare_mount(image, place)
    sys.path[:] = ["", "/lib"]
    chips.LINK.tell(MOUNTED)


bare_mount = flash.mount
flash.mount = mount
flash.ImageFile = Recorded
sys.argv[1:] = sys.argv[3:]
with open(flash.__file__.rsplit("/", 1)[0] + "/start.py") as file:
    source = file.read()
exec(compile(source, "start.py", "exec"), {"__name__": "__main__"})
