"""Keys of a site file about its people: the battery's way home, the water they may take."""

from rillkeeper.site.schema import Row, Table
from rillsim import site

# The rows are kept aligned by hand, to be read as tables.
# fmt: off

HOME = Table(
    "home", "home", site.HomeSpec,
    "Home, where the battery is charged, and how often it gets there by habit.",
    (
        Row("charger",      "charger_a",    "current",   "0 A", "60 A",
            "Of the charger; 0 A: large enough, it comes back as its trip says."),
        Row("every_nights", "every_nights", "whole",     "0",   "60",
            "Taken home after so many nights, again and again; 0: by no habit."),
        Row("when_asked",   "when_asked",   "yes or no", "",    "",
            "Whether it is taken home when the board has said that it must be."),
        Row("away_from",    "away_from_s",  "clock",     "",    "",
            "By habit: when it leaves."),
        Row("back_at",      "back_at_s",    "clock",     "",    "",
            "By habit: when it is connected again, the same day."),
        Row("looks_every",  "looks_every",  "whole",     "0",   "60",
            "Somebody looks at the board every so many days and clears a lockout; 0: nobody."),
    ),
)

PERMIT = Table(
    "permit", "permit", site.PermitSpec,
    "What may be taken from the water, where a permit or a right says so.",
    (
        Row("season", "season_m3",  "volume", "0 L", "100000 m3",
            "In a season; 0 L: no limit is known."),
        Row("day",    "day_m3",     "volume", "0 L", "1000 m3",
            "In a day; 0 L: no limit is known."),
        Row("begins", "begins_day", "whole",  "1",   "366",
            "Day of the year on which a season begins; 60 is 1 March."),
        Row("taken",  "taken_m3",   "volume", "0 L", "100000 m3",
            "Of this season, before the first night of the log."),
    ),
)

# fmt: on
