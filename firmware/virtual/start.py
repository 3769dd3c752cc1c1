"""Starts the virtual board: micropython start.py IMAGE RECEIVE SEND CHIP

IMAGE is its flash, RECEIVE and SEND the numbers of the open pipe ends to the simulator, CHIP 1
where a clock chip is fitted. Then boot.py and main.py run from the flash, as on any board.
"""

import sys

from virtual import chips, flash

chips.join(open(int(sys.argv[2]), "rb"), open(int(sys.argv[3]), "wb"))
chips.I2C.fitted = sys.argv[4] == "1"
sys.modules["machine"] = chips
sys.modules["time"] = chips
# The chips took the desktop's files; the board must run those on its flash.
for name in [name for name in sys.modules if name.startswith("keeper")]:
    sys.modules.pop(name)
flash.mount(sys.argv[1], "/")
sys.path[:] = ["", "/lib"]
try:
    for name in ("boot.py", "main.py"):
        with open(name) as file:
            source = file.read()
        exec(compile(source, name, "exec"), {"__name__": "__main__"})
finally:
    chips.LINK.leave()
