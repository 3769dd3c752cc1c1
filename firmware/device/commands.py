"""What can be said over the serial line, and what the board answers.

A line that only asks needs nothing more. A line that changes anything ends with a fresh number,
which counts once, and a mark (keeper/crc.py): what noise or a torn cable makes of it changes
nothing.
Every line of an answer carries the mark, but for "say"; the last one begins with "ok" or "no".
"""

import os

from keeper import VERSION, hand, lines
from keeper.crc import sealed, unsealed
from keeper.ticks import const

from . import manifest, seldom, status, store
from .trial import HALT_MS_MAX, SECONDS_MAX

CHUNK_LINES = 8
"""Lines of the log in one answer: the next "log" acknowledges them. As many are read from flash in
one go, so that no tick is late for it."""

CHUNK_LINES_MAX = 40
"""In an answer to a host that asks for more: with fewer, the line would stand still for more than
a tenth of the time, waiting for the next question."""

_MAH_MAX = const(500000)

_HAND = {
    "run": (hand.RUN, hand.MINUTES_MAX),
    "stop": (hand.STOP, 0),
    "clear": (hand.CLEAR, 0),
    "hold": (hand.HOLD, 30),
    "battery": (hand.BATTERY, _MAH_MAX),
    "relearn": (hand.RELEARN, 0),
}
LONGEST = " minutes, with priming the longest run that run_max_s allows"
_KEYS = seldom.setting_keys()
_FRESH_MASK = const(0xFFFF)
_DIGITS_MAX = const(9)
_BUSY = "no busy with what was asked before; say it again"
_NOT_NOW = "no not while the pump runs, nor with a full flash"


class Commands:
    """Answers for one board."""

    def __init__(self, board) -> None:
        self._board = board
        self._staged: dict = {}
        seed = os.urandom(2)
        self._fresh = seed[0] << 8 | seed[1]

    def answer(self, line: str):
        """The lines that answer a line. A change is made at once, whoever reads the answer."""
        words = line.split(" ")
        name = words[0]
        if name in _READS:
            return _marked(_READS[name](self, words[1:]))
        if name in _SEALED:
            return _SEALED[name](self, words[1:])
        text = unsealed(line)
        if text is None:
            known = name in _HAND or name in _CHANGES
            need = "a change needs a fresh number and a mark; see seal" if known else "see help"
            return _marked(iter(("no " + need,)))
        return _marked(iter((self._change(text),)))

    def _change(self, text: str) -> str:
        text, _, number = text.rpartition(" #")
        if number != str(self._fresh):
            return "no the number is not fresh; see fresh"
        self._fresh = (self._fresh + 1) & _FRESH_MASK
        words = text.split(" ")
        if words[0] in _HAND:
            return self._by_hand(words[0], words[1:])
        if words[0] not in _CHANGES:
            return "no such change; see help"
        return _CHANGES[words[0]](self, words[1:])

    def _help(self, _words):
        yield from _told(None)

    def _id(self, _words):
        machine = self._board.machine
        name = "".join(["%02x" % byte for byte in machine.unique_id()])
        yield "id board=" + name + " firmware=" + VERSION + " log=1 settings=1"
        yield "files " + self._files_crc()
        yield "ok"

    def _files_crc(self) -> str:
        """One number for the whole firmware: the CRC-32 of the list of its files."""
        try:
            return "crc=%08X" % manifest.crc_of(self._board.files, manifest.PATH)[0]
        except OSError:
            return "crc=none"

    def _files(self, _words):
        data = self._board.files.read(manifest.PATH)
        for crc, size, path in (manifest.rows(data) if data else None) or ():
            yield "file " + crc + " " + size + " " + path
        yield "ok"

    def _status(self, _words):
        self._board.keeper.nap_ms = 0  # Who looks again sees fresh readings.
        yield from status.lines_of(self._board)
        yield "ok"

    def _say(self, _words):
        self._board.keeper.nap_ms = 0
        yield from _told(self._board)

    def _clock(self, _words):
        now = self._board.clock
        yield "clock %s %s %s by=%s" % (
            lines.date_text(now.day),
            lines.time_text(now.second),
            "ok" if now.ok else "??",
            now.name,
        )
        yield "ok"

    def _settings(self, _words):
        settings = self._board.keeper.settings
        for key in _KEYS:
            if settings:
                yield "setting " + key + "=" + str(getattr(settings, key))
            if key in self._staged:
                yield "staged " + key + "=" + str(self._staged[key])
        yield "ok"

    def _log(self, words):
        log = self._board.log
        seq = _whole(words[0]) if words else log.oldest
        left = _whole(words[1]) if len(words) > 1 else CHUNK_LINES
        if seq is None or left is None:
            yield sealed("no log takes whole numbers")
            return
        left = min(left, CHUNK_LINES_MAX)
        last = seq - 1
        while left > 0:
            some = log.lines_from(last + 1, min(left, CHUNK_LINES))
            if not some:
                break
            left -= len(some)
            for line in some:
                last = int(line.split(" ")[0])
                yield line
        yield sealed("ok next=%d oldest=%d end=%d" % (last + 1, log.oldest, log.next_seq))

    def _fresh_number(self, _words):
        yield "ok fresh=" + str(self._fresh)

    def _seal(self, words):
        yield sealed(" ".join(words) + " #" + str(self._fresh))
        yield sealed("ok send that line to make the change")

    def _by_hand(self, name: str, words: list) -> str:
        code, largest = _HAND[name]
        keeper = self._board.keeper
        # On trial, the longest run is itself on trial.
        if name == "run" and keeper.settings and self._board.trial.settings is None:
            largest = keeper.hand.minutes_max
        value = 0
        if largest:
            wanted = _whole(words[0]) if len(words) == 1 else None
            if wanted is None or wanted > largest:
                most = "no " + name + " takes a whole number up to " + str(largest)
                return most + (LONGEST if largest != _HAND[name][1] else "")
            value = wanted
        elif words:
            return "no " + name + " takes nothing"
        if self._board.trouble:
            return "no the board does not pump: " + self._board.trouble
        if name == "battery":
            return _put_on(keeper, value)
        if name == "hold" and keeper.facts.clock_bad:
            return "no the clock is not to be believed, and a hold counts nights; set-clock first"
        return "ok asked " + name if keeper.command(code, value) else _BUSY

    def _set_clock(self, words: list) -> str:
        try:
            year, month, date = [int(word) for word in words[0].split("-")]
            hour, minute, second = [int(word) for word in words[1].split(":")]
            day = lines.day_number(words[0])
        except (ValueError, IndexError):
            return "no set-clock takes a date and a time"
        second += (hour * 60 + minute) * 60
        good = len(words) == 2 and lines.date_text(day) == words[0] and 2024 <= year < 2100
        if not good or lines.time_text(second) != words[1] or second >= 86400:
            return "no such date or time"
        if self._board.keeper.busy():
            return _BUSY
        try:
            self._board.clock.set(year, month, date, second)
        except OSError:
            return "no the clock does not answer"
        self._board.keeper.command(hand.CLOCK, 0)
        return "ok"

    def _set(self, words: list) -> str:
        if len(words) != 2 or words[0] not in _KEYS:
            return "no such setting"
        digits = words[1][1:] if words[1].startswith("-") else words[1]
        value = _whole(digits)
        if value is None:
            return "no set takes a whole number"
        self._staged[words[0]] = -value if digits != words[1] else value
        return "ok staged=" + str(len(self._staged))

    def _drop(self, _words) -> str:
        self._staged.clear()
        return "ok"

    def _apply(self, _words) -> str:
        board = self._board
        if board.pumping_soon():
            return _NOT_NOW
        if board.trial.settings is not None:
            return "no other settings are on trial; try 0 first"
        values = board.keeper.settings.values() if board.keeper.settings else {}
        values.update(self._staged)
        wrong = seldom.problem_of(values)
        if wrong:
            return "no " + wrong
        if not board.settings_slots.save(store.settings_text(values)):
            return "no the flash cannot be written"
        self._staged.clear()
        board.apply()
        return "ok"

    def _try(self, words) -> str:
        seconds = _whole(words[0]) if len(words) == 1 else None
        if seconds is None or seconds > SECONDS_MAX:
            return "no try takes a whole number up to " + str(SECONDS_MAX)
        board = self._board
        if board.pumping_soon():
            return _NOT_NOW
        changes = self._staged
        self._staged = {}
        if not seconds:
            board.keeper.hold_off(0)
            board.end_trial()
            return "ok"
        wrong = board.try_out(changes, seconds)
        return "no " + wrong if wrong else "ok trying=" + str(len(changes))

    def _halt(self, words) -> str:
        ms = _whole(words[0]) if len(words) == 1 else None
        if ms is None or ms > HALT_MS_MAX:
            return "no halt takes a whole number up to " + str(HALT_MS_MAX)
        self._board.stand_still(ms)
        return "ok"

    def _restart(self, _words) -> str:
        return "ok" if self._board.restart(False) else _NOT_NOW

    def _service(self, _words) -> str:
        return "ok" if self._board.restart(True) else _NOT_NOW


_READS = {
    "help": Commands._help,
    "id": Commands._id,
    "status": Commands._status,
    "clock": Commands._clock,
    "settings": Commands._settings,
    "files": Commands._files,
    "fresh": Commands._fresh_number,
}
_SEALED = {"log": Commands._log, "seal": Commands._seal, "say": Commands._say}
"""Their answers carry marks already, those of the log as they are on flash; or, being for people
at a narrow terminal, none."""

_CHANGES = {
    "set-clock": Commands._set_clock,
    "set": Commands._set,
    "drop": Commands._drop,
    "apply": Commands._apply,
    "try": Commands._try,
    "halt": Commands._halt,
    "restart": Commands._restart,
    "service": Commands._service,
}


def _put_on(keeper, mah: int) -> str:
    """A battery of which so much may be taken; none gives more than the site's full one."""
    full_mah = keeper.settings.capacity_mah
    if mah > full_mah:
        return "no of a full battery " + str(full_mah) + " may be taken, not its label; 0: full"
    if not keeper.command(hand.BATTERY, mah):
        return _BUSY
    return "ok asked battery left_mah=" + str(mah or full_mah) + " full_mah=" + str(full_mah)


def _told(board):
    try:
        yield from seldom.told(board)
    except seldom.SeldomError as error:
        yield "no " + str(error)
        return
    yield "ok"


def _marked(texts):
    for text in texts:
        yield sealed(text)


def _whole(word: str):
    """A whole number that is not negative and fits, else None."""
    return int(word) if word.isdigit() and len(word) <= _DIGITS_MAX else None
