"""One serial port, opened for nobody else, and without resetting the board behind it.

Boards with a USB bridge are reset by RTS without DTR, and boards with USB of their own send
nothing without DTR. Both are raised on opening, which does neither; on closing RTS goes first.
"""

import errno
import os
import stat
import sys
from types import TracebackType

import serial

from rillkeeper.board.link.ports import holder_of
from rillkeeper.errors import NoBoard, UsageMistake

BAUD = 115200
READ_S = 0.1
WRITE_S = 5.0

_BUSY = (errno.EBUSY, errno.EAGAIN)
_GONE = (errno.ENOENT, errno.ENODEV, errno.ENXIO)


class Port:
    """Bytes to and from a board; a context manager."""

    def __init__(self, name: str) -> None:
        """Open a device path, or what pyserial knows as a URL: ``socket://host:port``.

        Raises NoBoard, saying what to do about it, where it cannot be opened.
        """
        self.name = name
        self._serial = _opened(name)

    def __enter__(self) -> "Port":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def read(self) -> bytes:
        """What has come; nothing where nothing came within a tenth of a second."""
        try:
            return bytes(self._serial.read(max(1, self._serial.in_waiting)))
        except (serial.SerialException, OSError, TypeError):
            raise self._unplugged() from None

    def write(self, data: bytes) -> None:
        """Send bytes."""
        try:
            self._serial.write(data)
        except serial.SerialTimeoutException:
            raise NoBoard(f"{self.name}: the board takes nothing; restart it") from None
        except (serial.SerialException, OSError, TypeError):
            raise self._unplugged() from None

    def close(self) -> None:
        """Give the port back. A line without modem wires, or a board that is gone, is no error."""
        for wire in ("rts", "dtr"):
            try:
                setattr(self._serial, wire, False)
            except (serial.SerialException, OSError):
                break
        try:
            self._serial.close()
        except (serial.SerialException, OSError):
            pass

    def _unplugged(self) -> NoBoard:
        return NoBoard(
            f"{self.name}: the board was unplugged, or lost its power; what was read is kept"
        )


def _opened(name: str) -> serial.SerialBase:
    options = {"baudrate": BAUD, "timeout": READ_S, "write_timeout": WRITE_S}
    if "://" not in name:
        options["exclusive"] = True
    try:
        port = serial.serial_for_url(name, do_not_open=True, **options)
    except ValueError as error:
        raise UsageMistake(f"{name}: no such kind of port: {error}") from None
    try:
        port.dtr = port.rts = True
        port.open()
    except (serial.SerialException, OSError, ValueError) as error:
        raise NoBoard(f"{name}: {_refusal(name, error)}") from None
    return port


def _refusal(name: str, error: Exception) -> str:
    """Why a port cannot be opened, and what to do."""
    number = getattr(error, "errno", None)
    text = str(error)
    if number in _BUSY:
        holder = holder_of(name)
        if holder:
            return f"the port is busy: {holder} has it open; let it go there first"
        return "the port is busy; close the program that has it open"
    if number in (errno.EACCES, errno.EPERM) or "PermissionError" in text:
        return _no_permission(name)
    if number in _GONE or "FileNotFoundError" in text:
        return "there is no such port; see `rillkeeper ports`"
    if number == errno.ENOTTY or "not configure" in text:
        return "this is not a serial port; see `rillkeeper ports`"
    return f"cannot be opened ({text})"


def _no_permission(name: str) -> str:
    if sys.platform == "win32":  # There it is how a port that is open elsewhere shows.
        return "the port is busy; close the program that has it open"
    group = _group_of(name) or "dialout"
    return (
        f"no permission; run: sudo usermod -a -G {group} $USER "
        "(then log out, and in again; it lasts)"
    )


def _group_of(name: str) -> str | None:
    """The group that may use a device, unless it is root's."""
    import grp  # Not on Windows.

    try:
        found = os.stat(name)
        group = grp.getgrgid(found.st_gid).gr_name
    except (OSError, KeyError):
        return None
    return group if found.st_mode & stat.S_IWGRP and group not in ("root", "tty") else None
