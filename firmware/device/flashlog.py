"""The run log on flash: lines of text in pages, each page a file of one flash block at most.

    log/0000000417.txt      named by the first sequence number in it
        rill-log 1 first=417 oldest=12 lost=0 ~52C7
        417 2026-07-09 22:30:02 ok start set=1 run=1 ... ~824E

Lines are kept in memory until ``flush``, which appends them in one write: the file system makes
that whole or not at all. When there are ``pages_max`` pages the oldest gives way, and the head
of the next page says from which number on records are left, and how many were never written.
"""

from keeper.crc import sealed
from keeper.lines import BadLine, parse_line
from keeper.records import SEQ
from keeper.ticks import const

VERSION = 1
PAGE_BYTES = 4096
"""A block of the boards' flash. A longer page would be copied block by block as it grows."""
PAGES_MAX = 100
"""400 kB of the RP2040 board's 1.4 MB: some two months of nights."""

_WAITING_MAX = const(48)
_HEAD = "rill-log "


class FlashLog:
    """The log in one folder. ``next_seq`` is the number that goes on from what is there."""

    def __init__(self, files, folder: str = "log", pages_max: int = PAGES_MAX) -> None:
        self._files = files
        self._folder = folder
        self._pages_max = pages_max
        self._waiting: list = []
        self._size = PAGE_BYTES
        self.lost = 0
        """Lines that could not be written since the last page was begun."""
        self.failed = False
        self.damaged = 0
        """Lines found damaged when the log was opened, pages when it was read."""
        self._cursor = (-1, 0, 0)
        self._pages = sorted([int(n[:-4]) for n in files.names(folder) if _is_page(n)])
        self.next_seq = 0
        self._find_end()

    @property
    def oldest(self) -> int:
        """The first sequence number that is left."""
        return self._pages[0] if self._pages else self.next_seq

    @property
    def waiting(self) -> int:
        """How many lines are not on flash yet."""
        return len(self._waiting)

    def add(self, line: str) -> None:
        """Keep a line for the next flush."""
        if len(self._waiting) >= _WAITING_MAX:
            del self._waiting[0]
            self.lost += 1
        self._waiting.append(line + "\n")

    def flush(self) -> bool:
        """Write what waits; False, with the lines still waiting, where the flash fails."""
        while self._waiting:
            if not self.flush_some():
                return False
        return True

    def flush_some(self) -> bool:
        """One piece of a flush, which changes one file: while pumping, each has its own tick."""
        if self._is_full() and self._drop_oldest():
            return True
        try:
            self._write_some()
        except OSError:
            # Perhaps only full: make room once, but never give up the newest pages.
            made_room = not self.failed and len(self._pages) >= 4 and self._drop_oldest()
            self.failed = True
            if not made_room:
                self._size = PAGE_BYTES
            return made_room
        self.failed = False
        return True

    def lines_from(self, seq: int, count: int) -> list:
        """Up to ``count`` lines on flash, from sequence number ``seq`` on.

        As they stand there: whether a line is whole, its reader sees by its mark.
        """
        found: list = []
        place = self._place(seq)
        offset = 0
        if self._cursor[0] == seq and self._cursor[1] in self._pages:
            place = self._pages.index(self._cursor[1])
            offset = self._cursor[2]
        while place < len(self._pages) and len(found) < count:
            self._read_page(self._pages[place], offset, seq, count, found)
            offset = 0
            place += 1
        return found

    def _read_page(self, page: int, offset: int, seq: int, count: int, found: list) -> None:
        try:
            with self._files.open(self._path(page), "rb") as file:
                file.seek(offset)
                while len(found) < count:
                    line = file.readline()
                    if not line:
                        break
                    offset += len(line)
                    number = _first_number(line)
                    if number >= seq:
                        found.append(line.decode().rstrip("\n"))
                        self._cursor = (number + 1, page, offset)
        except (OSError, UnicodeError):
            self.damaged += 1

    def _place(self, seq: int) -> int:
        """Index of the page that would hold this number."""
        place = len(self._pages) - 1
        while place > 0 and self._pages[place] > seq:
            place -= 1
        return max(place, 0)

    def _find_end(self) -> None:
        """Go on after the last whole line; a page with a torn end gets no more lines."""
        for page in reversed(self._pages):
            size, last, whole = self._judge(page)
            if last >= 0:
                self.next_seq = last + 1
                self._size = size if whole and page == self._pages[-1] else PAGE_BYTES
                return

    def _judge(self, page: int):
        """(bytes, last sequence number or -1, whether nothing is torn) of a page."""
        data = self._files.read(self._path(page))
        if data is None:
            return PAGE_BYTES, -1, False
        last = -1
        whole = data.endswith(b"\n")
        for line in data.split(b"\n")[1:]:
            if line:
                number = _number(line)
                if number < 0:
                    whole = False
                    self.damaged += 1
                else:
                    last = number
        return len(data), last, whole

    def _page_ends(self) -> bool:
        """Whether the next line begins a page."""
        return self._size + len(self._waiting[0]) > PAGE_BYTES

    def _is_full(self) -> bool:
        """Whether a page must give way before the next line."""
        return self._page_ends() and len(self._pages) >= self._pages_max

    def _write_some(self) -> None:
        """Append as many lines as the open page takes, or begin a page with them."""
        head = ""
        mode = "ab"
        if self._page_ends():
            seq = int(self._waiting[0].split(" ")[0])
            if not self._pages:
                self._files.make_folder(self._folder)
            head = self._head(seq)
            mode = "wb"
            page = seq
            size = len(head)
        else:
            page = self._pages[-1]
            size = self._size
        taken = 0
        while taken < len(self._waiting) and size + len(self._waiting[taken]) <= PAGE_BYTES:
            size += len(self._waiting[taken])
            taken += 1
        with self._files.open(self._path(page), mode) as file:
            file.write((head + "".join(self._waiting[:taken])).encode())
        if mode == "wb":
            if page not in self._pages:
                self._pages.append(page)
            self.lost = 0
        self._size = size
        self.next_seq = int(self._waiting[taken - 1].split(" ")[0]) + 1
        del self._waiting[:taken]

    def _head(self, seq: int) -> str:
        text = _HEAD + str(VERSION) + " first=" + str(seq)
        text += " oldest=" + str(self._pages[0] if self._pages else seq)
        return sealed(text + " lost=" + str(self.lost)) + "\n"

    def _drop_oldest(self) -> bool:
        if not self._pages:
            return False
        try:
            self._files.remove(self._path(self._pages[0]))
        except OSError:
            return False
        del self._pages[0]
        return True

    def _path(self, page: int) -> str:
        return self._folder + "/%010d.txt" % page


def _is_page(name: str) -> bool:
    return len(name) == 14 and name.endswith(".txt") and name[:10].isdigit()


def _number(line: bytes) -> int:
    """Sequence number of a whole line, -1 for a head or a damaged line."""
    try:
        return parse_line(line.decode())[SEQ]
    except (BadLine, UnicodeError):
        return -1


def _first_number(line: bytes) -> int:
    """Sequence number that a line begins with, -1 for anything else."""
    word = line.split(b" ", 1)[0]
    return int(word) if word.isdigit() else -1
