"""Runs on a board: prints what it is, its room, and every file that may concern the firmware."""

import gc
import os
import sys

_FOLDER = 0x4000


def _sort(path: str) -> str:
    """ "f" for a file, "d" for a folder."""
    return "d" if os.stat(path)[0] & _FOLDER else "f"


def _print_tree(folder: str) -> None:
    for name in sorted(os.listdir(folder or "/")):
        path = folder + "/" + name if folder else name
        sort = _sort("/" + path)
        print(sort, os.stat("/" + path)[6] if sort == "f" else 0, path)
        if sort == "d" and path.split("/")[0] in ("lib", "new", "keeper", "device"):
            _print_tree(path)


def look() -> None:
    """All of it, a line each."""
    gc.collect()
    kind = sys.implementation
    print("platform", sys.platform)
    print("python", ".".join([str(part) for part in kind.version[:3]]))
    print("bytecode", getattr(kind, "_mpy", 0) & 0xFF)
    print("machine", getattr(kind, "_machine", "?"))
    print("heap", getattr(gc, "mem_free", int)())
    room = os.statvfs("/")
    print("blocks", room[0], room[2], room[3])
    try:
        print("radio", int(hasattr(__import__("network"), "WLAN")))
    except ImportError:
        print("radio", 0)
    _print_tree("")
