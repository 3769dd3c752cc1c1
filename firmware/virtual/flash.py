"""The virtual board's flash: a file of blocks with littlefs on it, as the stock ports mount it."""

import os

import vfs

BLOCK_BYTES = 4096
BLOCKS = 352
"""1.4 MB: what the stock firmware leaves of a 2 MB flash chip."""

_PROGRAM_BYTES = 256
_FLUSH, _BLOCK_COUNT, _BLOCK_SIZE, _ERASE = 3, 4, 5, 6


class ImageFile:
    """A block device over a file."""

    def __init__(self, path: str) -> None:
        self._file = open(path, "r+b")

    def readblocks(self, block, buffer, offset=0) -> None:
        """Read from a block."""
        self._file.seek(block * BLOCK_BYTES + offset)
        self._file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=None) -> None:
        """Program a part of an erased block."""
        if offset is None:
            self.ioctl(_ERASE, block)
            offset = 0
        self._file.seek(block * BLOCK_BYTES + offset)
        self._file.write(buffer)

    def ioctl(self, request, block):
        """Sizes, and erasing."""
        if request == _BLOCK_COUNT:
            return BLOCKS
        if request == _BLOCK_SIZE:
            return BLOCK_BYTES
        if request == _ERASE:
            self._file.seek(block * BLOCK_BYTES)
            self._file.write(b"\xff" * BLOCK_BYTES)
        return 0


def make(path: str) -> None:
    """A new image with an empty file system."""
    with open(path, "wb") as file:
        for _ in range(BLOCKS):
            file.write(b"\xff" * BLOCK_BYTES)
    vfs.VfsLfs2.mkfs(ImageFile(path), progsize=_PROGRAM_BYTES)  # type: ignore[arg-type]


def mount(path: str, where: str) -> None:
    """Mount an image; as the root it takes the place of the desktop's files."""
    device = ImageFile(path)
    volume = vfs.VfsLfs2(device, progsize=_PROGRAM_BYTES)  # type: ignore[abstract, arg-type]
    if where == "/":
        vfs.umount("/")
    vfs.mount(volume, where)
    if where == "/":
        os.chdir("/")
