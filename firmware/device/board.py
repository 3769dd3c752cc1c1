"""The board's loop: a tick, then what can wait, then sleep until the next.

The tick reads, asks the keeper and drives the relay; it allocates nothing and waits for nobody.
Flash is written while the pump rests; in a run while no limit is passed, right after a tick, one
file at a time and a second apart: each stalls the loop by some 50 ms, 112 ms at the worst.
"""

import gc
import os
import select
import sys

from keeper import Keeper, SettingsError, lines, memory
from keeper.cycle import CHECK, LOCKOUT, PRIME, RUN
from keeper.records import POWER_BACK, POWER_UP
from keeper.ticks import MASK, const, elapsed_ms

from . import clock, manifest, pins, seldom, store, watchdog
from .commands import Commands
from .files import Files
from .flashlog import FlashLog
from .lamp import Lamp
from .serial import ATTACHED_MS, Poll, SerialLine
from .trial import HELD_OFF_MS, Trial

TICK_MS = 100

SERVICE_FILE = "service"

_FLUSH_MS = const(1000)
"""Least time between two flushes while pumping; a run writes a record a minute."""
_SLICE_MS = const(5)
_BUSY_SLICE_MS = const(1)
"""Between two looks at the line: short while an answer goes out, or the port runs empty."""
_HALF = (MASK + 1) // 2
_RESTART_TICKS = const(5)


class Board:
    """One board with its parts."""

    def __init__(self, machine, time, row, relay, files, trouble: str) -> None:
        self.machine = machine
        self.time = time
        self.row = row
        self.relay = relay
        self.files = files
        self._broken = ""
        self._unset = ""
        self.trial = Trial()
        self.inputs = pins.inputs(machine, row)
        self.clock = clock.find(machine, row, time.ticks_ms)
        self.dog = watchdog.Watchdog(machine.WDT)
        self.lamp = Lamp(machine.Pin(row["lamp"], machine.Pin.OUT, value=0))
        usb = row["usb_power"]
        self._usb = machine.Pin(usb, machine.Pin.IN) if usb >= 0 else None
        self.log = FlashLog(files)
        self.settings_slots = store.TwoSlots(files, "settings")
        self._memory_slots = store.TwoSlots(files, "memory")
        self.commands = Commands(self)
        receive = sys.stdin.buffer
        send = sys.stdout.buffer
        poll = Poll(select, sys.stdin, sys.stdout)
        self.serial = SerialLine(receive, send, poll, self.commands.answer, row["write_bytes"])
        self._heard_ms = -1
        self._flushed_ms = 0
        self._dropped = 0
        self._check = iter("")
        self._checking = False
        self._restart_ticks = -1
        self.slow_ms = 0
        """The longest time from tick to tick while pumping."""
        self.begin()
        if trouble:
            self.refuse(trouble)
        self._due_ms = self._now_ms()
        self._ticked_ms = self._due_ms

    def begin(self) -> None:
        """Make the keeper from what the flash holds; the relay is off."""
        self.relay.off()
        if self._broken:
            self.keeper = Keeper(None)
            return
        remembered = self._memory_slots.load()
        cause = POWER_UP if remembered is None and not self.log.next_seq else POWER_BACK
        self.keeper = keeper = Keeper(self._settings(), cause)
        if remembered is not None:
            try:
                memory.load(keeper, remembered)
            except (ValueError, MemoryError):
                self._lock_out()
        elif self._memory_slots.damaged:
            self._lock_out()
        keeper.journal.seq = max(keeper.journal.seq, self.log.next_seq)
        if keeper.settings and keeper.settings.flow_fitted:
            self.inputs.count_pulses(self.machine, self.row)
        self._dropped = 0
        self._night = keeper.night
        self._remember()

    @property
    def trouble(self) -> str:
        """Why the board does not pump; empty where nothing is wrong."""
        return self._broken or self._unset

    def apply(self, trial: bool = False) -> None:
        """Other settings have been written, or are on trial: go on with them."""
        before = self.keeper
        self._remember()
        self.begin()
        self.keeper.take_over(before, trial)

    def try_out(self, changes: dict, seconds: int) -> str:
        """Go on with other settings for so long, from memory; returns what is wrong with them."""
        self.trial.end()
        kept = self._settings()
        if kept is None:
            return self._unset
        values = kept.values()
        values.update(changes)
        try:
            settings = seldom.settings_of(values, True)
        except SettingsError as error:
            self.end_trial()
            return error.problems[0]
        except seldom.SeldomError as error:
            self.end_trial()
            return str(error)
        self.trial.begin(settings, self._now_ms(), seconds)
        self.keeper.hold_off(HELD_OFF_MS)
        self.apply(trial=True)
        return ""

    def end_trial(self) -> None:
        """Go back to the settings on flash."""
        self.trial.end()
        self.apply(trial=True)

    def refuse(self, trouble: str) -> None:
        """From now on the relay stays off, until the next start."""
        self.relay.off()
        if not self._broken:
            self._broken = trouble
        self.keeper = Keeper(None)
        self._dropped = 0

    def tick(self) -> None:
        """Read, judge, drive. The clock was read just before: that may allocate."""
        dog = self.dog
        inputs = self.inputs
        now = self.clock
        keeper = self.keeper
        now_ms = self.time.ticks_ms() & MASK
        inputs.read()
        dog.passed(watchdog.READ)
        keeper.pulses = inputs.pulses
        level = keeper.step(
            now_ms,
            now.day,
            now.second,
            now.ok,
            inputs.battery_n,
            inputs.pressure_n,
            inputs.load_on,
            inputs.contacts,
            inputs.frost_n,
            inputs.current_n,
        )
        dog.passed(watchdog.JUDGED)
        if self.relay.drive(level, now_ms):
            dog.passed(watchdog.DRIVEN)
        dog.feed()
        self.lamp.show(keeper.state)
        if level:
            took_ms = elapsed_ms(now_ms, self._ticked_ms)
            if took_ms > self.slow_ms:
                self.slow_ms = took_ms
        self._ticked_ms = now_ms

    def look_after(self) -> None:
        """What a tick leaves behind: records, memory, the nightly check, a wish to restart."""
        keeper = self.keeper
        journal = keeper.journal
        log = self.log
        while journal.waiting:
            log.add(lines.format_line(journal.take()))
        if journal.dropped != self._dropped:
            log.lost += journal.dropped - self._dropped
            self._dropped = journal.dropped
        pumping = self.relay.level
        if pumping and not self._may_flush():
            return
        if pumping:
            self._flushed_ms = self._ticked_ms
            self._write_one()
            return
        if log.waiting:
            log.flush()
        if keeper.changed != self._changed:
            self._remember()
        self._check_files()
        self._restart_if_wanted()
        if self.trial.is_over(self._ticked_ms) and not self.pumping_soon():
            self.end_trial()

    def _write_one(self) -> None:
        """Of all that waits, one thing: no tick is late by more than one change of a file."""
        if self.keeper.changed != self._changed:
            self._remember()
        elif self.log.waiting:
            self.log.flush_some()
        else:
            gc.collect()

    def wait(self) -> None:
        """Until the next tick is due: serve the line, else sleep."""
        nap_ms = self._nap_ms()
        if nap_ms > TICK_MS:
            self._nap(nap_ms)
            return
        self._due_ms = (self._due_ms + TICK_MS) & MASK
        serial = self.serial
        while True:
            moved = serial.attend()
            left_ms = self._left_ms()
            if left_ms <= 0:
                break
            if not self.attached():
                self.time.sleep_ms(left_ms)
            elif not moved:
                slice_ms = _BUSY_SLICE_MS if serial.busy else _SLICE_MS
                self.time.sleep_ms(min(left_ms, slice_ms))
        if left_ms < -TICK_MS:
            self._due_ms = self._now_ms()

    def attached(self) -> bool:
        """Whether a host is there, or has been within the last minute."""
        if self._usb is not None and self._usb.value():
            return True
        if self.serial.heard:
            self.serial.heard = False
            self._heard_ms = self._now_ms()
        if self._heard_ms < 0:
            return False
        if elapsed_ms(self._now_ms(), self._heard_ms) > ATTACHED_MS:
            self._heard_ms = -1
        return self._heard_ms >= 0

    def pumping_soon(self) -> bool:
        """Whether the pump runs, or is about to."""
        state = self.keeper.state
        return bool(self.relay.level) or state == CHECK or state == PRIME or state == RUN

    def stand_still(self, ms: int) -> None:
        """Do nothing, not even tick: what becomes of the relay then is to be seen."""
        begun_ms = self._now_ms()
        while elapsed_ms(self._now_ms(), begun_ms) < ms:
            self.time.sleep_ms(TICK_MS)

    def restart(self, service: bool) -> bool:
        """Start again in half a second; for service without the loop. False where it cannot."""
        if self.pumping_soon():
            return False
        if service:
            try:
                with self.files.open(SERVICE_FILE, "wb") as file:
                    file.write(b"\n")
            except OSError:
                return False
        self._restart_ticks = _RESTART_TICKS
        return True

    def _settings(self):
        if self.trial.settings is not None:
            return self.trial.settings
        text = self.settings_slots.load()
        if text is None:
            self._unset = "settings are damaged" if self.settings_slots.damaged else "no settings"
            return None
        self._unset = ""
        try:
            return seldom.settings_of(store.text_settings(text))
        except SettingsError as error:
            self._unset = "settings cannot be used: " + error.problems[0]
        except seldom.SeldomError as error:
            self._unset = "settings cannot be checked: " + str(error)
        except ValueError:
            self._unset = "settings are damaged"
        return None

    def _lock_out(self) -> None:
        """What was remembered cannot be read: it may have been a lockout."""
        if self.keeper.settings:
            self.keeper.state = LOCKOUT

    def _remember(self) -> None:
        keeper = self.keeper
        self._changed = keeper.changed
        if not keeper.settings:
            return
        if not self._memory_slots.save(memory.save(keeper)):
            self.refuse("flash cannot be written")

    def _may_flush(self) -> bool:
        keeper = self.keeper
        if elapsed_ms(self._ticked_ms, self._flushed_ms) < _FLUSH_MS:
            return False
        return keeper.state == RUN and not keeper.guard.holding(RUN)

    def _check_files(self) -> None:
        """Once a night, a file a tick."""
        if self.keeper.night != self._night:
            self._night = self.keeper.night
            self._check = manifest.troubles(self.files)
            self._checking = True
        if self._checking:
            for trouble in self._check:
                if trouble:
                    self._checking = False
                    self.refuse(trouble)
                return
            self._checking = False

    def _restart_if_wanted(self) -> None:
        if self._restart_ticks < 0:
            return
        self._restart_ticks -= 1
        if self._restart_ticks < 0:
            self.relay.off()
            self.machine.reset()

    def _nap_ms(self) -> int:
        """How long nobody needs the board, in whole ticks."""
        if self.relay.level or self._checking or self._restart_ticks >= 0:
            return 0
        nap_ms = min(self.keeper.nap_ms, self.row["nap_ms_max"])
        if nap_ms <= TICK_MS or self.attached():
            return 0
        return -(-nap_ms // TICK_MS) * TICK_MS

    def _nap(self, nap_ms: int) -> None:
        self._due_ms = (self._due_ms + nap_ms) & MASK
        look_ms = self.row["look_ms"]
        while True:
            left_ms = self._left_ms()
            if left_ms <= 0:
                break
            self.lamp.show(self.keeper.state)
            self.machine.lightsleep(min(left_ms, look_ms))
            self.serial.attend()
            if self.inputs.changed() or self.attached():
                break
        self._due_ms = self._now_ms()

    def _now_ms(self) -> int:
        return self.time.ticks_ms() & MASK

    def _left_ms(self) -> int:
        """Until the tick that is due; negative when it is late."""
        left_ms = (self._due_ms - self._now_ms()) & MASK
        return left_ms - MASK - 1 if left_ms >= _HALF else left_ms


def run(machine, time, row, relay, trouble: str) -> None:
    """The loop; it ends by an error or by Ctrl-C only, or at once for service.

    ``trouble``: what main.py found wrong with the files, "" for nothing.
    """
    files = Files()
    if SERVICE_FILE in os.listdir():
        files.remove(SERVICE_FILE)
        print("service: the pump does not run until the next start")
        return
    # A firmware that fails after this would be reset for ever, too soon to be replaced.
    time.sleep_ms(row["hold_ms"])
    board = Board(machine, time, row, relay, files, trouble)
    board.dog.arm()
    while True:
        board.clock.read()
        board.tick()
        board.look_after()
        board.wait()
