"""The list of a firmware's files (device/manifest.py), as whoever copied them writes it."""

import binascii

from device.manifest import crc_of


def text_of(files, paths: list) -> str:
    """The list of these files as they are now."""
    text = ""
    for path in sorted(paths):
        text += "%08X %d %s\n" % (crc_of(files, path) + (path,))
    return text + "%08X %d end\n" % (binascii.crc32(text.encode()), len(paths))
