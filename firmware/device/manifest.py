"""The firmware on flash against its list: a damaged or half-copied firmware must not pump.

The list is the file ``manifest.txt``, written by whoever copied the firmware: a line each with
CRC-32, size and path, and a sealed last line with their number and the CRC of the lines. A module
that is not on it, and would be imported in place of one that is, makes a mixture too.
"""

import binascii

PATH = "manifest.txt"

_PIECE_BYTES = 512
_END = "end"


def crc_of(files, path: str):
    """(CRC-32, size) of a file, read in small pieces. Raises OSError where it is missing."""
    crc = 0
    size = 0
    with files.open(path, "rb") as file:
        while True:
            piece = file.read(_PIECE_BYTES)
            if not piece:
                return crc, size
            crc = binascii.crc32(piece, crc)
            size += len(piece)


def troubles(files):
    """Check file after file, one at each step; yields "" for a good one, else what is wrong."""
    data = files.read(PATH)
    if data is None:
        yield PATH + " is missing"
        return
    listed = rows(data)
    if listed is None:
        yield PATH + " is damaged"
        return
    for crc, size, path in listed:
        yield _verdict(files, path, crc, size)
    paths = [path for _, _, path in listed]
    for folder in _folders(paths):
        stranger = _stranger(files, folder, paths)
        yield stranger + " is not of this firmware" if stranger else ""


def _verdict(files, path: str, crc: str, size: str) -> str:
    """What is wrong with a file, "" for nothing.

    Written so that hardly a flipped bit in it makes a damaged file pass: one makes "==" of "<=",
    but nothing else of "!=".
    """
    wrong = path + " is damaged or missing"
    try:
        found, length = crc_of(files, path)
    except OSError:
        return wrong
    if "%08X" % found != crc or str(length) != size:
        return wrong
    return ""


def _folders(paths: list) -> list:
    """The packages, as lib/keeper."""
    folders: list = []
    for path in paths:
        folder = path.rpartition("/")[0]
        if folder and folder not in folders:
            folders.append(folder)
    return folders


def _stranger(files, folder: str, paths: list) -> str:
    """A module that does not belong into a package, or hides it from the root; "" for none."""
    package = folder.rpartition("/")[2]
    for name in files.names(""):
        if name == package or name == package + ".py" or name == package + ".mpy":
            return name
    for name in files.names(folder):
        path = folder + "/" + name
        if name.rpartition(".")[2] in ("py", "mpy") and path not in paths:
            return path
    return ""


def rows(data: bytes):
    """The rows (CRC, size, path) of a whole list, else None."""
    end = data.rstrip(b"\n").rfind(b"\n") + 1
    try:
        last = data[end:].decode().rstrip("\n").split(" ")
        listed = [line.split(" ", 2) for line in data[:end].decode().split("\n")[:-1]]
    except UnicodeError:
        return None
    if len(last) != 3 or last[2] != _END or last[1] != str(len(listed)) or not listed:
        return None
    if last[0] != "%08X" % binascii.crc32(data[:end]):
        return None
    return listed if min([len(row) for row in listed]) == 3 else None
