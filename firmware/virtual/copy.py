"""Makes a virtual board's flash: micropython copy.py IMAGE SETTINGS PATH=SOURCE ...

SETTINGS is a file with a line for each setting, or "-" for a board that was never set.
"""

import os
import sys

from device import manifest, store
from device.files import Files
from virtual import flash, listed

_ROOT = "/flash/"


def copy(source: str, files, path: str) -> None:
    """Copy one file, making the folders on its way."""
    words = path.split("/")
    for depth in range(1, len(words)):
        files.make_folder("/".join(words[:depth]))
    with open(source, "rb") as there, files.open(path, "wb") as here:
        here.write(there.read())


def main(image: str, settings: str, pairs: list) -> None:
    """All of it."""
    flash.make(image)
    flash.mount(image, "/flash")
    files = Files(_ROOT)
    paths = []
    for pair in pairs:
        path, _, source = pair.partition("=")
        copy(source, files, path)
        paths.append(path)
    with files.open(manifest.PATH, "wb") as file:
        file.write(listed.text_of(files, paths).encode())
    if settings != "-":
        with open(settings) as given:
            store.TwoSlots(files, "settings").save(given.read())
    os.chdir("/")


main(sys.argv[1], sys.argv[2], sys.argv[3:])
