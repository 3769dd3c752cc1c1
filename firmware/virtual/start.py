"""Starts the virtual board: micropython [-i] start.py IMAGE RECEIVE SEND CHIP NUMBER MAIN

IMAGE is its flash, RECEIVE and SEND the numbers of the open pipe ends to the simulator, CHIP 1
where a clock chip is fitted, NUMBER the board's own in hexadecimal digits. Then boot.py and
main.py run from the flash, as on any board; MAIN is 0 where a soft reset left the raw prompt,
which does without main.py. With -i, what ends them leaves the prompt.
"""

import binascii
import sys

from virtual import chips, flash

chips.join(open(int(sys.argv[2]), "rb"), open(int(sys.argv[3]), "wb"))
chips.I2C.fitted = sys.argv[4] == "1"
chips.LINK.unique_id = binascii.unhexlify(sys.argv[5])
sys.modules["machine"] = chips
sys.modules["time"] = chips
# The chips took the desktop's files; the board must run those on its flash.
for name in [name for name in sys.modules if name.startswith("keeper")]:
    sys.modules.pop(name)
flash.mount(sys.argv[1], "/")
sys.path[:] = ["", "/lib"]


def run(names):
    """Run files, as far as they are there, until one of them fails."""
    for name in names:
        try:
            with open(name) as file:
                source = file.read()
        except OSError:
            continue
        exec(compile(source, name, "exec"), {"__name__": "__main__"})


try:
    run(("boot.py", "main.py") if sys.argv[6] == "1" else ("boot.py",))
except BaseException as error:
    chips.LINK.leave()
    # Where no terminal is there, the simulator shows it.
    sys.print_exception(error, sys.stderr)  # type: ignore[arg-type]
else:
    chips.LINK.leave()
