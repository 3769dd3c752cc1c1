"""Bringing a board to a MicroPython prompt that lasts, whatever state it is in.

A watchdog that the firmware has armed cannot be stopped: at a prompt that Ctrl-C has given the
board starts again after some seconds. Then there is a moment, before the firmware arms it anew,
in which Ctrl-C gives a prompt that lasts.
"""

from time import monotonic, sleep

from rillkeeper.board.link.port import Port
from rillkeeper.errors import NoBoard

PROMPT = b">>> "
POLITE_S = 8.0
"""A board that was asked for service comes to its prompt by itself in this time."""
FORCE_S = 25.0
WATCHDOG_S = 12.0
"""Longer than the firmware's watchdog, even on a virtual board of a machine that is busy: one that
is taken for none starts the board again in the midst of copying."""
_QUIET_S = 0.25
_PAUSE_S = 0.8
"""Between two looks whether the prompt is still there."""
_LOOKS = 4
"""In vain, before it is taken to be none."""
MISSED_MAX = 3
"""Prompts that ended again, before a firmware is taken to run."""
_ASK = b"import sys; print('armed', 'device.board' in sys.modules)\r"


class StartsAgain(NoBoard):
    """Each prompt that Ctrl-C gives is ended by the watchdog of a firmware that runs."""


def is_at_prompt(port: Port) -> bool:
    """Whether a prompt answers an empty line, or the command that leaves the raw prompt."""
    port.write(b"\r\x02")
    return PROMPT in _heard(port, _QUIET_S, PROMPT)


def wait_for(name: str, patience_s: float = POLITE_S) -> bool:
    """Wait for the prompt of a board that is starting for service."""
    end = monotonic() + patience_s
    while monotonic() < end:
        try:
            with Port(name) as port:
                while monotonic() < end:
                    if is_at_prompt(port):
                        return True
        except NoBoard:  # It is away for a moment while it starts.
            sleep(0.2)
    return False


def starts_again(name: str) -> bool:
    """Whether a board at its prompt is started again by its watchdog; waits until it is."""
    try:
        with Port(name) as port:
            return _answers(port) and not _lasts(port)
    except NoBoard:  # It is away for a moment while it starts.
        return True


def force(name: str, patience_s: float = FORCE_S) -> None:
    """Stop whatever runs there with Ctrl-C. Raises NoBoard where no prompt comes that lasts.

    That is StartsAgain where one came and ended again: the moment before the watchdog is armed was
    missed, ``MISSED_MAX`` times at most on a port that stays. A virtual board has no such moment.
    """
    end = monotonic() + patience_s
    seen = False
    missed = 0
    while monotonic() < end and missed < MISSED_MAX:
        try:
            with Port(name) as port:
                while monotonic() < end and missed < MISSED_MAX:
                    port.write(b"\r\x03")
                    _heard(port, _QUIET_S / 2, PROMPT)
                    port.write(b"\x02")
                    if PROMPT not in _heard(port, _QUIET_S, PROMPT):
                        continue
                    seen = True
                    if _lasts(port):
                        return
                    missed += 1
        except NoBoard:
            if not seen and not _is_there(name):
                raise
            sleep(0.2)
    kind = StartsAgain if missed else NoBoard
    raise kind(
        f"{name}: no MicroPython prompt there; switch the board off and on, and try again within "
        "two seconds; a new board needs MicroPython first (hardware_notes/flashing.md)"
    )


def _lasts(port: Port) -> bool:
    """Whether no watchdog is about to end it: none was armed, or it has let the time pass."""
    port.write(_ASK)
    said = _heard(port, 2.0, b"armed True", b"armed False")
    if b"armed False" in said:
        return True
    if b"armed True" not in said:
        return False
    end = monotonic() + WATCHDOG_S
    while monotonic() < end:
        _heard(port, _PAUSE_S)
        if not _answers(port):  # It has started again.
            return False
    return True


def _answers(port: Port) -> bool:
    """Whether a prompt is there, on a busy machine too, where its answer is late."""
    return any(is_at_prompt(port) for _ in range(_LOOKS))


def _heard(port: Port, quiet_s: float, *signs: bytes) -> bytes:
    """What comes until one of the signs, or until it has been quiet for so long."""
    held = b""
    last = monotonic()
    while monotonic() - last < quiet_s:
        data = port.read()
        if data:
            held += data
            last = monotonic()
        if any(sign in held for sign in signs):
            break
    return held


def _is_there(name: str) -> bool:
    try:
        Port(name).close()
    except NoBoard:
        return False
    return True
