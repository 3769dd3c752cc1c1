"""What the wasm build lacks of a virtual board, before one of ``virtual``'s scripts runs in it."""

import os
import sys

import vfs


class System:
    """``sys`` that says "linux": the firmware knows the virtual board by the unix port's name."""

    platform = "linux"

    def __getattr__(self, name):
        return getattr(sys, name)


class Desktop:
    """``os`` with a source of chance. It is none: only a host that asks to change things, which
    there is not, would need it."""

    def __getattr__(self, name):
        return getattr(os, name)

    @staticmethod
    def urandom(count) -> bytes:
        """So many bytes."""
        return bytes(count)


class FolderFlash:
    """In the place of ``virtual.flash``, which needs littlefs: the flash is a folder."""

    @staticmethod
    def make(path) -> None:
        """The folder is there, and empty."""

    @staticmethod
    def mount(path, where) -> None:
        """Mount the folder; as the root it takes the place of all other files."""
        volume = vfs.VfsPosix(path)
        if where == "/":
            vfs.umount("/")
        vfs.mount(volume, where)
        if where == "/":
            os.chdir("/")


def begin(words) -> None:
    """Put all of it in place; the script finds ``words`` as its arguments."""
    sys.argv[:] = words
    sys.modules["sys"] = System()
    sys.modules["os"] = Desktop()
    import virtual

    virtual.flash = sys.modules["virtual.flash"] = FolderFlash
