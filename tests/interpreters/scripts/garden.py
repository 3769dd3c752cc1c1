"""A garden in whole numbers, for interpreters: it answers the relay with readings.

Not a model of anything: its pressure climbs when the relay closes and falls when it opens.
Each night has one trouble, in turn, and in the morning a person puts everything right, so that
the keeper passes through all its states and rules over and over. Nothing here allocates: the
readings of a tick are attributes, and ``wish`` is a command of the person's.
"""

TICK_MS = 100
NAP_MS = 300000  # longer than the keeper asks for: a quiet day is many steps of the same
DAY_S = 86400
EVENING_S = 79180
AWAKE_S = EVENING_S - 5
ASLEEP_S = EVENING_S + 30
NIGHT_OVER_S = 25000
CLEARED_S = 30000
MORNING_S = 36000

REST_N = 2843  # 12.7 V of 18.3 V
LOAD_N = 96  # 0.43 V
WORKING_PA = 180000
PRIME_TICKS = 30

TROUBLES = (
    "none",
    "outlet shut",
    "battery weak",
    "pressure over rating",
    "hose burst",
    "source empty",
    "air in the suction line",
    "battery lifted off",
    "charger left on",
    "clamps corroded",
    "clamps loose",
    "pump stalled",
    "motor seized",
    "battery nearly used up",
    "battery half used up",
    "run by hand too long",
    "button pressed again and again",
    "relay welded",
    "relay open",
    "relay chatters",
    "board busy",
    "channels swapped",
    "battery wire astray",
    "battery channel open",
    "pressure channel open",
    "pressure channel stuck",
    "frost channel open",
    "current channel shorted",
    "clock lost",
    "clock back",
    "frost",
    "rain",
    "on hold",
    "strainer blocking",
)
(
    NO_TROUBLE,
    OUTLET_SHUT,
    BATTERY_WEAK,
    OVER_RATING,
    BURST,
    EMPTY,
    AIR,
    LIFTED,
    CHARGER,
    CORRODED,
    LOOSE,
    STALLED,
    SEIZED,
    USED_UP,
    HALF_USED,
    TOO_LONG,
    PRESSED,
    WELDED,
    RELAY_OPEN,
    CHATTERS,
    BUSY,
    SWAPPED,
    ASTRAY,
    BATTERY_OPEN,
    PRESSURE_OPEN,
    PRESSURE_STUCK,
    FROST_OPEN,
    CURRENT_SHORTED,
    CLOCK_LOST,
    CLOCK_BACK,
    FROST,
    RAIN,
    ON_HOLD,
    BLOCKING,
) = range(len(TROUBLES))

# The person's commands, as the keeper numbers them.
HOLD, RUN, STOP, CLEAR, BATTERY, CLOCK = range(1, 7)


def later(now_ms, dt_ms):
    """The wrapping counter after ``dt_ms``; the sum itself would not fit in 31 bits."""
    room_ms = 0x3FFFFFFF - now_ms
    return now_ms + dt_ms if dt_ms <= room_ms else dt_ms - room_ms - 1


class Chance:
    """Two short generators, mixed: enough variety, and no product leaves 31 bits."""

    def __init__(self, seed):
        self._a = seed % 65537 or 1
        self._b = seed % 65521 + 1

    def below(self, limit):
        """A whole number in 0 .. limit - 1, for limits up to 65000."""
        self._a = self._a * 75 % 65537
        self._b = self._b * 171 % 65521
        return (self._a ^ self._b) % limit


class Garden:
    """The readings of one tick after another: call ``advance`` with what the relay was told."""

    def __init__(self, start_ms, seed=1, quiet_states=()):
        self.chance = Chance(seed)
        self.quiet_states = quiet_states
        self.trouble = NO_TROUBLE
        self.now_ms = start_ms
        self.day = 20000
        self.second = EVENING_S
        self.clock_ok = 1
        self.battery_n = REST_N
        self.pressure_n = 410
        self.load_on = 0
        self.contacts = 0
        self.frost_n = 800
        self.current_n = 0
        self.wish = 0
        self.wish_value = 0
        self._of_second_ms = 0
        self._pressure_pa = 0
        self._quiet_ticks = 0
        self._on_ticks = 0
        self._night_ticks = 0

    def advance(self, level, state):
        """The next tick: the relay was told ``level``, the keeper is in ``state``."""
        self.wish = 0
        self._quiet_ticks = self._quiet_ticks + 1 if state in self.quiet_states else 0
        self._on_ticks = self._on_ticks + 1 if level else 0
        dt_ms = TICK_MS
        if self._quiet_ticks > 100 and not AWAKE_S <= self.second < ASLEEP_S:
            dt_ms = min(NAP_MS, (AWAKE_S - self.second) % DAY_S * 1000)
        elif self.trouble == BUSY and self._on_ticks == 200:
            dt_ms = 2000
        self._pass_time(dt_ms)
        self._measure(level)
        if self.second > EVENING_S or self.second < NIGHT_OVER_S:
            self._night_ticks += 1
            self._spoil(level)
            self._person_at_night()
        elif self._night_ticks:
            self._night_ticks = 0
            self.trouble = (self.trouble + 1) % len(TROUBLES)
            self._put_right()
        elif self.second < MORNING_S:
            self.wish = CLEAR if self.second < CLEARED_S else CLOCK
        else:
            self.clock_ok = 1

    def _pass_time(self, dt_ms):
        self.now_ms = later(self.now_ms, dt_ms)
        self._of_second_ms += dt_ms
        self.second += self._of_second_ms // 1000
        self._of_second_ms %= 1000
        while self.second >= DAY_S:
            self.second -= DAY_S
            self.day += 1

    def _measure(self, level):
        noise = self.chance.below(5)
        target_pa = WORKING_PA if self._on_ticks > PRIME_TICKS else 0
        self._pressure_pa += (target_pa - self._pressure_pa) >> 2
        self.pressure_n = 410 + self._pressure_pa * 41 // 12515 + noise
        self.battery_n = REST_N - LOAD_N * level + (noise >> 1)
        self.current_n = 820 * level + noise
        self.load_on = level
        self.contacts = 0
        self.frost_n = 800

    def _spoil(self, level):
        trouble = self.trouble
        on = self._on_ticks
        late = on > 300
        odd = self.day // len(TROUBLES) & 1
        if trouble == OUTLET_SHUT and late:
            self.pressure_n = 1500
        elif trouble == BATTERY_WEAK and late:
            self.battery_n -= 260
        elif trouble == OVER_RATING and late:
            self.pressure_n = 1900 + (on & 3)
        elif trouble == BURST and late:
            self.pressure_n = 570 + (on & 3)
        elif trouble == EMPTY and late or trouble == AIR:
            self.pressure_n = 410 + (on & 1)
        elif trouble == LIFTED and late:
            self.battery_n = 2050
        elif trouble == CHARGER:
            self.battery_n = 3500
        elif trouble == CORRODED and level:
            self.battery_n -= 180
        elif trouble == LOOSE and level:
            self.battery_n -= 330
        elif trouble == STALLED and late:
            self.battery_n -= 580
            self.current_n = 3800
            self.pressure_n = 410 + (on & 1)
        elif trouble == SEIZED and late:
            self.pressure_n = 410 + (on & 1)
            if odd and on > 310:  # In every other round the fuse melts first.
                self.current_n = 0
                self.battery_n = REST_N
            else:
                self.current_n = 3800
                self.battery_n -= 240
        elif trouble == WELDED:
            # In every other round already while the readings are checked.
            stuck = self._night_ticks - (205 if odd else 400)
            self.load_on = 1 if 0 < stuck < 200 else level
        elif trouble == RELAY_OPEN:
            self.load_on = 0
        elif trouble == CHATTERS and level:
            self.load_on = on & 1
        else:
            self._spoil_channel(level)

    def _spoil_channel(self, level):
        trouble = self.trouble
        on = self._on_ticks
        if trouble == SWAPPED:
            self.battery_n, self.pressure_n = self.pressure_n, self.battery_n
        elif trouble == ASTRAY:
            self.battery_n = REST_N + (on & 1)
        elif trouble == BATTERY_OPEN and on > 100:
            self.battery_n = 0
        elif trouble == PRESSURE_OPEN and on > 100:
            self.pressure_n = -1
        elif trouble == PRESSURE_STUCK and on > 100:
            self.pressure_n = 1000
        elif trouble == FROST_OPEN:
            self.frost_n = 4095
        elif trouble == CURRENT_SHORTED and level:
            self.current_n = 4095
        elif trouble == CLOCK_LOST:
            self.clock_ok = 0
        elif trouble == CLOCK_BACK and on == 400:
            self.second -= 50
        elif trouble == FROST:
            self.frost_n = 600
        elif trouble == RAIN and self._night_ticks > 600:
            self.contacts = 1
        elif trouble == BLOCKING and on > PRIME_TICKS:
            self.pressure_n -= (self.pressure_n - 410) * 3 // 8

    def _person_at_night(self):
        tick = self._night_ticks
        trouble = self.trouble
        if trouble == TOO_LONG and tick < 6000 and self._quiet_ticks == 50:
            self.wish = RUN
            self.wish_value = 240
        elif trouble == PRESSED and tick < 1500:
            if tick % 100 in (60, 61, 62):
                self.contacts = 2
        elif trouble == HALF_USED and tick == 20:
            self.wish = RUN
            self.wish_value = 30
        elif trouble == ON_HOLD and tick == 5:
            self.wish = HOLD
            self.wish_value = 1
        elif trouble == NO_TROUBLE and tick == 900:
            self.wish = STOP

    def _put_right(self):
        """Morning: a full battery is brought, or the half used one that the night asks for."""
        self.wish = BATTERY
        self.wish_value = 0
        if self.trouble == USED_UP:
            self.wish_value = 2050
        elif self.trouble == HALF_USED:
            self.wish_value = 2900
        elif self.trouble == BATTERY_WEAK or self.trouble == LIFTED:
            self.wish_value = 14000  # Of a fuller one it would be the supply that fails.


class Chaos(Garden):
    """The same garden, with one tick in a hundred that is anything at all."""

    def advance(self, level, state):
        Garden.advance(self, level, state)
        chance = self.chance
        if chance.below(100):
            return
        what = chance.below(12)
        if what == 0:
            self.battery_n = chance.below(4097) - 1
        elif what == 1:
            self.pressure_n = chance.below(4097) - 1
        elif what == 2:
            self.load_on ^= 1
        elif what == 3:
            self.contacts = chance.below(4)
        elif what == 4:
            self.frost_n = chance.below(4097) - 1
        elif what == 5:
            self.current_n = chance.below(4097) - 1
        elif what == 6:
            self.clock_ok = chance.below(2)
        elif what == 7:
            self.second = chance.below(43200) * 2 + chance.below(2)
        elif what == 8:
            self.day = self.day + chance.below(7) - 2
        elif what == 9:
            self._pass_time(1 << chance.below(30))
        elif what == 10:
            self.now_ms = later(self.now_ms, chance.below(32768) << 15)
        else:
            self.wish = 1 + chance.below(6)
            self.wish_value = chance.below(300)
