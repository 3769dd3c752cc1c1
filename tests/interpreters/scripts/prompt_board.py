"""Starts a board that ends at a prompt:

micropython -i prompt_board.py IMAGE RECEIVE SEND JOURNAL MAIN ERROR

As firmware/virtual/start.py does; each operation on the flash goes to JOURNAL too, and where
MAIN is 0 only boot.py runs, as after a soft reset from the raw prompt. The flash answers each
write with ERROR, unless that is 0.
"""

import struct
import sys

from virtual import chips, flash


ERROR = int(sys.argv[6])


class Recorded(flash.ImageFile):
    """Notes programs and erases: sort, place, length, bytes."""

    journal = open(sys.argv[4], "ab")

    def writeblocks(self, block, buffer, offset=None):
        if ERROR:
            return -ERROR
        super().writeblocks(block, buffer, offset)
        if offset is not None:
            place = block * flash.BLOCK_BYTES + offset
            self.journal.write(struct.pack("<BII", 1, place, len(buffer)))
            self.journal.write(buffer)
            self.journal.flush()

    def ioctl(self, request, block):
        if request == 6 and ERROR:
            return -ERROR
        if request == 6:
            self.journal.write(struct.pack("<BII", 0, block * flash.BLOCK_BYTES, 0))
        return super().ioctl(request, block)


def reset():
    """Ask for it and wait: a script that runs with -i cannot end its interpreter."""
    chips.LINK._send.write(struct.pack(chips.OUTPUTS, 0, 0xFFFFFFFF))
    chips.LINK.take()


flash.ImageFile = Recorded
chips.reset = reset
chips.join(open(int(sys.argv[2]), "rb"), open(int(sys.argv[3]), "wb"))
sys.modules["machine"] = chips
sys.modules["time"] = chips
for name in [name for name in sys.modules if name.startswith("keeper")]:
    sys.modules.pop(name)
flash.mount(sys.argv[1], "/")
sys.path[:] = ["", "/lib"]
for name in ("boot.py", "main.py") if sys.argv[5] == "1" else ("boot.py",):
    try:
        with open(name) as file:
            source = file.read()
    except OSError:
        continue
    try:
        exec(compile(source, name, "exec"), {"__name__": "__main__"})
    except Exception as error:
        sys.print_exception(error)
    except KeyboardInterrupt:
        print("KeyboardInterrupt")
chips.LINK.relay = 0
