"""A talk with a board that is being proved: what it writes as it comes, and the way back.

Whatever happens, ``make_safe`` stops the pump, gives the board its own settings back and clears
what a step has left. Settings on trial live in the board's memory only and run out by
themselves, so that even a desktop that dies leaves nothing behind.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from zlib import crc32

from rillkeeper.board.link import state
from rillkeeper.board.link.change import make
from rillkeeper.board.link.fetch import Fetch
from rillkeeper.board.link.talk import Talk
from rillkeeper.errors import BoardStopped, NoBoard, RillkeeperError, VerifyDiffers
from rillkeeper.runlog.lines import Entry, read_log
from rillkeeper.runlog.store import Archive

LOOK_S = 0.3
"""Between two looks at the board."""
SAFE_S = 20.0
BACK_S = 120.0
"""A person has had the board without power: it is waited for so long."""
BASE_TRIAL_S = 3600
"""Sets stay off for so long after the last step was begun."""
BASE_TRIAL = {"set1_unit": 0, "set2_unit": 0, "set3_unit": 0, "starts_max": 60}
"""On trial in every step: no set begins under a person's hands, nor do the starts run out."""
_QUIET = ("idle", "done", "flat", "lockout")


class Session:
    """One board under proof."""

    def __init__(
        self,
        connect: Callable[[], Talk],
        archive: Archive,
        *,
        clock_s: Callable[[], float],
        sleep: Callable[[float], None],
        standard_time: Callable[[], datetime],
    ) -> None:
        """``connect`` opens the line anew; ``clock_s`` and ``sleep`` are the person's time."""
        self.clock_s = clock_s
        self.sleep = sleep
        self._connect = connect
        self._standard_time = standard_time
        self._archive = archive
        self.talk = connect()
        self.who = state.identity(self.talk)
        files = self.talk.ask("id", like="id board=").words("files")
        self.files_crc = files.get("crc", "unknown")
        now = self.status()
        if now.state not in _QUIET and now.state != "unset":
            raise RillkeeperError(f"the board is {now.doing}; end that first: rillkeeper stop")
        if now.trouble:
            raise BoardStopped(now.needs_a_person)
        make(self.talk, "try 0")
        self.settings = state.settings(self.talk)
        if not self.settings:
            raise RillkeeperError("the board has no settings; write some: rillkeeper settings")
        self._fetch = Fetch(self.talk, archive, self.who.board)
        self.new_entries()

    @property
    def settings_crc(self) -> str:
        """One number for all of the board's settings."""
        text = "\n".join(f"{key} {self.settings[key]}" for key in sorted(self.settings))
        return f"{crc32(text.encode()):08X}"

    def status(self) -> state.Status:
        """What the board does and reads."""
        return state.status(self.talk)

    def make(self, change: str) -> str:
        """Make a change on the board."""
        return make(self.talk, change)

    def new_entries(self) -> list[Entry]:
        """What the board has written since the last time, kept in the archive too."""
        lines = [line for chunk in self._fetch.read() for line in chunk]
        return list(read_log(lines).entries)

    def damaged(self) -> int:
        """Records that could not be read whole, or were lost."""
        return self._fetch.damaged + self._fetch.dropped

    def begin_trial(self, values: Mapping[str, int], seconds: int) -> None:
        """Put settings on trial, with those of every step."""
        self.make("drop")
        for key, value in {**BASE_TRIAL, **values}.items():
            self.make(f"set {key} {value}")
        self.make(f"try {seconds}")

    def start(self, minutes: int) -> None:
        """Start the pump by hand."""
        make(self.talk, f"run {minutes}", repeatable=False)

    def wait_until(self, seen: Callable[[state.Status], bool], patience_s: float) -> state.Status:
        """Look until the board is as wanted or patience ends; returns the last look."""
        end_s = self.clock_s() + patience_s
        while True:
            now = self.status()
            if seen(now) or self.clock_s() > end_s:
                return now
            self.sleep(LOOK_S)

    def make_safe(self) -> None:
        """Pump off, the board's own limits, nothing locked or stopped by a step; sets off."""
        if self.status().state not in _QUIET:
            self.make("stop")
            now = self.wait_until(lambda seen: seen.state in _QUIET and not seen.relay, SAFE_S)
            if now.relay:
                raise BoardStopped("the relay does not open: hand switch off now")
        self.hold_off()
        # Where nothing is stopped too: tries and a learned supply are of the step before.
        self.make("clear")
        now = self.wait_until(lambda seen: seen.state == "idle", SAFE_S)
        if now.state != "idle":
            raise BoardStopped(f"the board is {now.doing} and cannot be cleared")
        self.new_entries()

    def hold_off(self) -> None:
        """No set starts from now on. The board keeps that over a loss of power, until ``end``."""
        self.begin_trial({}, BASE_TRIAL_S)

    def end(self) -> None:
        """The proof is over, or broken off: the board is on its own, and its sets are on again."""
        self.make("try 0")

    def check_settings(self) -> None:
        """See that the board has its own settings, but for the sets that are off."""
        found = {**state.settings(self.talk), **{key: self.settings[key] for key in BASE_TRIAL}}
        wrong = [key for key, value in self.settings.items() if found.get(key) != value]
        if wrong:
            raise VerifyDiffers(f"the board's settings have changed: {', '.join(wrong)}")

    def keep(self, values: Mapping[str, int]) -> None:
        """Write settings for good, and read them back; sets stay off."""
        self.make("try 0")
        self.make("drop")
        for key, value in values.items():
            self.make(f"set {key} {value}")
        self.make("apply")
        self.settings = state.settings(self.talk)
        self.hold_off()
        wrong = [key for key, value in values.items() if self.settings.get(key) != value]
        if wrong:
            raise VerifyDiffers(f"the board does not have what was written: {', '.join(wrong)}")

    def now_text(self) -> str:
        """This computer's time, as ISO 8601."""
        return f"{self._standard_time():%Y-%m-%dT%H:%M:%S}"

    def has_time(self) -> bool:
        """Whether the board knows what time it is."""
        return state.board_time(self.talk).now is not None

    def set_clock(self) -> None:
        """Give the board this computer's time, without summer time."""
        self.make(f"set-clock {self._standard_time():%Y-%m-%d %H:%M:%S}")

    def be_there(self) -> None:
        """After a person had hands on it: the board may have been without power."""
        try:
            self.status()
        except NoBoard:
            if not self.come_back(BACK_S):
                raise

    def come_back(self, patience_s: float) -> bool:
        """Open the line again after the board was without power; False where it stays away."""
        end_s = self.clock_s() + patience_s
        while self.clock_s() < end_s:
            try:
                talk = self._connect()
                state.identity(talk)
            except NoBoard:
                self.sleep(1.0)
                continue
            self.talk = talk
            self._fetch = Fetch(talk, self._archive, self.who.board)
            return True
        return False
