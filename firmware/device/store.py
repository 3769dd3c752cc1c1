"""Text that must survive a power cut at any moment: two slots, written in turn.

A slot is a file: a head with the version and a counter, the text, and a CRC-32 over both. The
slot with the higher counter and a fitting CRC is the one that counts; a new text goes into the
other. So a cut leaves the old text or the new one, whole.
"""

import binascii

VERSION = 1

_MARK = "rill-store"
_COUNTER_MASK = 0x3FFFFFFF


class TwoSlots:
    """One text, kept in ``path`` + ".a" and ".b"."""

    def __init__(self, files, path: str) -> None:
        self._files = files
        self._paths = (path + ".a", path + ".b")
        self._counter = 0
        self._next = 0
        self.damaged = 0
        """Slots that are there but not whole, when they were last read."""

    def load(self):
        """The text, or None where neither slot holds one."""
        found = None
        self.damaged = 0
        self._counter = 0
        self._next = 0
        for slot, path in enumerate(self._paths):
            data = self._files.read(path)
            if data is None:
                continue
            counter, text = _unpacked(data)
            if text is None:
                self.damaged += 1
            elif found is None or counter > self._counter:
                found = text
                self._counter = counter
                self._next = 1 - slot
        return found

    def save(self, text: str) -> bool:
        """Write the text and read it back; False where the flash does not hold it."""
        counter = (self._counter + 1) & _COUNTER_MASK
        data = _packed(counter, text)
        path = self._paths[self._next]
        try:
            with self._files.open(path, "wb") as file:
                file.write(data)
        except OSError:
            return False
        if self._files.read(path) != data:
            return False
        self._counter = counter
        self._next = 1 - self._next
        return True


def _packed(counter: int, text: str) -> bytes:
    body = _MARK + " " + str(VERSION) + " " + str(counter) + "\n" + text
    data = body.encode()
    return data + ("\n~%08X\n" % binascii.crc32(data)).encode()


def _unpacked(data: bytes):
    """(counter, text), or (0, None) where the slot is not whole."""
    nothing = (0, None)
    body = data[:-11]
    if len(body) == 0 or data[-11:] != ("\n~%08X\n" % binascii.crc32(body)).encode():
        return nothing
    head, _, text = body.decode().partition("\n")
    words = head.split(" ")
    if len(words) != 3 or words[0] != _MARK or words[1] != str(VERSION):
        return nothing
    return int(words[2]), text


def settings_text(values: dict) -> str:
    """Settings as text, a line each."""
    return "\n".join([key + " " + str(values[key]) for key in sorted(values)])


def text_settings(text: str) -> dict:
    """The settings in a text."""
    values = {}
    for line in text.split("\n"):
        key, _, value = line.partition(" ")
        values[key] = int(value)
    return values
