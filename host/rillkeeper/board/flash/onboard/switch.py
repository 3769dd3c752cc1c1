"""Runs on a board: puts the files that lie ready under new/ into their places.

A cut at any moment leaves the old main.py, one that only says that the firmware is not whole,
or the new one with everything in its place: each renaming is one step of the file system.
"""

import os

_FOLDER = 0x4000
_LAST = ("manifest.txt", "main.py")


def _is_folder(path: str) -> bool:
    return bool(os.stat(path)[0] & _FOLDER)


def _remove(path: str) -> None:
    """Remove a file, or a folder with all in it; nothing is wrong where there is none."""
    try:
        if _is_folder(path):
            for name in os.listdir(path):
                _remove(path + "/" + name)
            os.rmdir(path)
        else:
            os.remove(path)
    except OSError:
        if path.rsplit("/", 1)[1] in os.listdir(path.rsplit("/", 1)[0] or "/"):
            raise


def _put(folder: str) -> None:
    """Move all files below /new + folder to folder."""
    for name in sorted(os.listdir("/new" + folder)):
        path = folder + "/" + name
        if _is_folder("/new" + path):
            try:
                os.mkdir(path)
            except OSError:
                pass
            _put(path)
        elif folder or name not in _LAST:
            os.rename("/new" + path, path)


def switch(hold: str, stale: "list[str]") -> None:
    """``hold``: the main.py of the meantime; ``stale``: paths that must go."""
    os.rename("/new/" + hold, "/main.py")
    _remove("/manifest.txt")
    for path in stale:
        _remove("/" + path)
    _put("")
    for name in _LAST:
        os.rename("/new/" + name, "/" + name)
    _remove("/new")
    _remove("/service")
    print("switched")
