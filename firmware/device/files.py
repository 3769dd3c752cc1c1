"""The board's file system, in one place: what the log, the slots and the manifest need of it.

Tests put a recorded flash in its place.
"""

import os


class Files:
    """Files under one root folder, named by their path from there."""

    def __init__(self, root: str = "") -> None:
        self.root = root

    def open(self, path: str, mode: str):
        """An open binary file."""
        return open(self.root + path, mode)

    def names(self, folder: str) -> list:
        """What lies in a folder; nothing where there is no such folder."""
        try:
            return os.listdir(self.root + folder)
        except OSError:
            return []

    def make_folder(self, folder: str) -> None:
        """Make a folder unless it is there."""
        try:
            os.mkdir(self.root + folder)
        except OSError:
            pass

    def remove(self, path: str) -> None:
        """Remove a file."""
        os.remove(self.root + path)

    def read(self, path: str):
        """All bytes of a file, or None where it cannot be read."""
        try:
            with self.open(path, "rb") as file:
                return file.read()
        except OSError:
            return None
