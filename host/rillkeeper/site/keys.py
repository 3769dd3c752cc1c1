"""All keys of a site file.

Each row reads: key in the file, field of the record, kind of value, least, most, one sentence.
The ranges keep out slips of the pen (a bore in metres, a pump for a fire engine), not unusual
gardens: they are common practice, no source. The defaults stand in `rillsim.site`.
What people do and may do has its rows in `people_keys`.
"""

from rillkeeper.site.people_keys import HOME, PERMIT
from rillkeeper.site.schema import Row, Table
from rillsim import site
from rillsim.supply.wiring import INSULATIONS

MILLIMETRE, PERCENT, LITRE = 1e-3, 0.01, 1e-3
AMPERE_HOUR, MINUTE, METRE_A_DAY = 3600.0, 60.0, 1 / 86400

# The rows are kept aligned by hand, to be read as tables.
# fmt: off

HEADING = Table(
    "", "", site.Site,
    "The site as a whole.",
    (
        Row("name",  "name",  "text",   "", "",
            "As it stands over the report."),
        Row("units", "units", "choice", "", "",
            "What reports are written in.", choices=("metric", "us")),
        Row("fixed", "fixed", "text",   "", "",
            "What you cannot change: keys with commas between, left alone by `size --advise`."),
    ),
)

WATER = Table(
    "water", "water", site.WaterSource,
    "Open water that the suction line stands in.",
    (
        Row("altitude",    "altitude_m",     "length",      "-430 m", "4500 m",
            "Above the sea: less air, less lift."),
        Row("temperature", "temperature_c",  "temperature", "0 C",    "40 C",
            "Of the water; where only the weather is said, it follows that."),
        Row("lift",        "lift_m",         "length",      "-5 m",   "9 m",
            "Height of the pump above the water at first."),
        Row("fall",        "fall_m_per_day", "daily fall",  "-1 m/d", "2 m/d",
            "How fast the level drops.", METRE_A_DAY),
        Row("cover",       "cover_m",        "length",      "0 m",    "20 m",
            "Water above the strainer at first."),
        Row("stored",      "stored_m3",      "volume",      "0 L",    "1000 m3",
            "Volume above the strainer at first; 0 L: it never ends."),
        Row("full",        "full_m3",        "volume",      "0 L",    "1000 m3",
            "The same when it is full."),
        Row("roof",        "roof_m2",        "area",        "0 m2",   "2000 m2",
            "Roof that drains into it."),
        Row("inflow",      "inflow_m3_s",    "flow",        "0 L/min", "100 L/min",
            "What a spring or stream yields."),
    ),
)

SUCTION = Table(
    "suction", "suction", site.SuctionSpec,
    "Suction line from the strainer to the pump.",
    (
        Row("length",     "length_m",    "length", "0.2 m", "50 m",
            "Along the line."),
        Row("bore",       "bore_m",      "bore",   "4 mm",  "80 mm",
            "Inside the line, not outside."),
        Row("roughness",  "roughness_m", "roughness", "0 mm",  "3 mm",
            "Of the wall; plastic is smooth."),
        Row("foot_valve", "foot_valve",  "choice", "",      "",
            "Keeps the line full between runs.", choices=("poppet", "hinged", "none")),
        Row("strainer_k", "strainer_k",  "number", "0",     "200",
            "Loss of the clean strainer in velocity heads."),
        Row("fittings_k", "fittings_k",  "number", "0",     "100",
            "Loss of bends and joints in velocity heads."),
        Row("stop_valve", "stop_valve",  "yes or no", "",   "",
            "Whether a valve opens and closes with the pump; a source above the nozzle needs it."),
    ),
)

PUMP = Table(
    "pump", "pump", site.PumpSheet,
    "The diaphragm pump, as its data sheet gives it at the rated voltage.",
    (
        Row("rated",           "rated_v",         "voltage",     "10 V",      "16 V",
            "Voltage of the figures below; the battery is a 12 V one."),
        Row("open_flow",       "open_flow_m3_s",  "flow",        "0.5 L/min", "100 L/min",
            "Flow with an open outlet."),
        Row("open_current",    "open_current_a",  "current",     "0.3 A",     "60 A",
            "Current with an open outlet."),
        Row("shutoff",         "shutoff_pa",      "pressure",    "0.3 bar",   "12 bar",
            "Where its own switch opens, or its highest pressure."),
        Row("max_current",     "max_current_a",   "current",     "0.5 A",     "100 A",
            "Most that the sheet allows."),
        Row("max_pressure",    "max_pressure_pa", "pressure",    "0.3 bar",   "12 bar",
            "What pump and outlet are rated for."),
        Row("pressure_switch", "pressure_switch", "yes or no",   "",          "",
            "Whether it carries a switch that opens at the shut-off pressure."),
        Row("speed",           "speed_rad_s",     "shaft speed", "300 rpm",   "6000 rpm",
            "Of the motor with an open outlet."),
        Row("winding",         "winding_ohm",     "resistance",  "0 mohm",    "2000 mohm",
            "Of the motor; 0 mohm where the sheet is silent."),
        Row("dry_lift",        "dry_lift_m",      "length",      "0 m",       "8 m",
            "Height that it can prime from with a dry line."),
        Row("minimum",         "minimum_v",       "voltage",     "5 V",       "12 V",
            "Below this the motor may stall."),
        Row("duty",            "duty",            "choice",      "",          "",
            "What the sheet rates the motor for.", choices=site.DUTIES),
        Row("duty_on",         "duty_on_s",       "time",        "0 min",     "240 min",
            "Intermittent: most minutes on at a time."),
        Row("duty_off",        "duty_off_s",      "time",        "0 min",     "600 min",
            "Intermittent: minutes off that belong to them."),
    ),
)

SHEET_ROW = Table(
    "pump_row", "pump_rows", site.SheetRow,
    "The sheet's table at the rated voltage, a row each; its first (open) and last rule.",
    (
        Row("pressure", "pressure_pa", "pressure", "0 bar",   "12 bar",
            "At the outlet; 0 in the first row."),
        Row("flow",     "flow_m3_s",   "flow",     "0 L/min", "100 L/min",
            "There."),
        Row("current",  "current_a",   "current",  "0.3 A",   "100 A",
            "There, too."),
    ),
    many=True,
)

LINE = Table(
    "line", "line", site.LineSpec,
    "Hose from the pump to the sprinkler.",
    (
        Row("length",     "length_m",    "length",    "0.5 m",   "500 m",
            "Along the hose."),
        Row("bore",       "bore_m",      "bore",      "4 mm",    "80 mm",
            "Inside the hose, not outside."),
        Row("roughness",  "roughness_m", "roughness", "0 mm",    "3 mm",
            "Of the wall; plastic is smooth."),
        Row("fittings_k", "fittings_k",  "number",    "0",       "200",
            "Loss of couplings and taps in velocity heads."),
        Row("rise",       "rise_m",      "length",    "-30 m",   "40 m",
            "Height of the nozzle above the pump."),
        Row("wall",       "wall_m",      "bore",      "0.3 mm",  "15 mm",
            "Thickness of the hose wall."),
        Row("modulus",    "modulus_pa",  "stiffness", "0.5 MPa", "4000 MPa",
            "Of the wall: soft PVC 20 to 50 MPa."),
    ),
)

SPRINKLER = Table(
    "sprinkler", "sprinkler", site.SprinklerSpec,
    "The sprinkler on its stand; x runs east and y north from the plot's south-west corner.",
    (
        Row("nozzle_bore",  "nozzle_bore_m",         "bore",   "0.5 mm", "25 mm",
            "Of one nozzle."),
        Row("nozzle_count", "nozzle_count",          "whole",  "1",      "20",
            "Nozzles of this bore."),
        Row("discharge",    "discharge_coefficient", "number", "0.3",    "1",
            "Discharge coefficient of a nozzle."),
        Row("elevation",    "elevation_deg",         "angle",  "0 deg",  "60 deg",
            "Of the jet above level."),
        Row("arc",          "arc_deg",               "angle",  "10 deg", "360 deg",
            "That the jet sweeps."),
        Row("facing",       "facing_deg",            "angle",  "0 deg",  "360 deg",
            "Middle of the arc, clockwise from north."),
        Row("x",            "x_m",                   "length", "-20 m",  "220 m",
            "East of the corner."),
        Row("y",            "y_m",                   "length", "-20 m",  "220 m",
            "North of the corner."),
        Row("pattern",      "pattern",               "choice", "",       "",
            "How the depth runs from stand to rim.", choices=("triangular", "even", "doughnut")),
        Row("least_pressure", "least_pa",            "pressure", "0 bar", "6 bar",
            "At the nozzle, that its sheet asks for; 0 bar where it is silent."),
    ),
)

CABLE = Table(
    "cable", "cable", site.CableSpec,
    "Two-wire cable from battery to pump, with all that is in its way.",
    (
        Row("length",           "length_m",      "length",       "0.1 m",   "200 m",
            "One way; the current travels it twice."),
        Row("section",          "area_m2",       "wire section", "0.2 mm2", "100 mm2",
            "Of the copper in one wire."),
        Row("strand_class",     "strand_class",  "whole",        "1",       "6",
            "IEC 60228: 1 solid, 2 stranded, 5 fine, 6 finest."),
        Row("insulation",       "insulation",    "choice",       "",        "",
            "Ordinary PVC, marine or car cable for 105 C, or household cord.",
            choices=INSULATIONS),
        Row("clamps",           "clamp_ohm",     "resistance",   "0 mohm",  "1000 mohm",
            "Both clamps together."),
        Row("fuse",             "fuse_a",        "current",      "1 A",     "100 A",
            "Rating."),
        Row("fuse_resistance",  "fuse_ohm",      "resistance",   "0 mohm",  "500 mohm",
            "Fuse with its holder."),
        Row("relay_resistance", "relay_ohm",     "resistance",   "0 mohm",  "500 mohm",
            "Of a closed contact: of each, where there are two relays."),
        Row("temperature",      "temperature_c", "temperature",  "-30 C",   "70 C",
            "Of the copper."),
    ),
)

BATTERY = Table(
    "battery", "battery", site.BatterySpec,
    "The 12 V battery that is carried home to charge.",
    (
        Row("chemistry",   "chemistry",      "choice",      "",       "",
            "Lead-acid flooded or AGM, or LiFePO4.", choices=site.CHEMISTRIES),
        Row("capacity",    "capacity_ah",    "charge",      "2 Ah",   "400 Ah",
            "Rated, over 20 h at 25 C.", AMPERE_HOUR),
        Row("age",         "age",            "share",       "0 %",    "100 %",
            "Of its life; at 100 % a fifth of its charge is gone."),
        Row("temperature", "temperature_c",  "temperature", "-25 C",  "55 C",
            "Of the battery at first; its limits are worked out for it."),
        Row("box",         "box_s",          "time",        "0 min",  "2880 min",
            "How far it then lags behind the air, in its box; 0 min: it stays as warm."),
        Row("resistance",  "resistance_ohm", "resistance",  "0 mohm", "1000 mohm",
            "0 mohm: from chemistry and size."),
        Row("measured",    "measured_ah",    "charge",      "0 Ah",   "400 Ah",
            "Found at home over 20 h, in place of the age; 0 Ah: not measured.", AMPERE_HOUR),
        Row("used",        "used_share",     "share",       "0 %",    "90 %",
            "Of its charge, between two charges; 0 %: lead 50 %, lithium 80 %."),
    ),
)

SOLAR = Table(
    "solar", "solar", site.SolarSpec,
    "A small solar panel that lies flat by the battery and charges it by day.",
    (
        Row("power",      "power_w",    "power", "0 W",  "500 W",
            "Rated in full sun; 0 W where there is none."),
        Row("efficiency", "efficiency", "share", "10 %", "100 %",
            "Of its rated yield, after heat, dust, wires and controller."),
    ),
)

PLOT = Table(
    "plot", "plot", site.PlotSpec,
    "The plot, a rectangle.",
    (
        Row("width",   "width_m",    "length",      "0.5 m",  "200 m",
            "West to east."),
        Row("depth",   "depth_m",    "length",      "0.5 m",  "200 m",
            "South to north."),
        Row("crop",    "crop",       "crop",        "",       "",
            "What grows, by its name in FAO-56 table 17."),
        Row("stage",   "stage",      "choice",      "",       "",
            "Of the crop: first weeks, full leaf, ripening.", choices=("ini", "mid", "end")),
        Row("soil",    "soil",       "choice",      "",       "",
            "Texture of the soil.", choices=site.SOILS),
        Row("root",    "root_m",     "length",      "0.05 m", "2.5 m",
            "Depth of the roots."),
        Row("deficit", "deficit_mm", "water depth", "0 mm",   "300 mm",
            "Water missing from the root zone at first.", MILLIMETRE),
    ),
)

WEATHER = Table(
    "weather", "weather", site.WeatherSpec,
    "The weather that the week is drawn around.",
    (
        Row("latitude",     "latitude_deg", "angle",       "-66 deg", "66 deg",
            "North is positive."),
        Row("day_of_year",  "day_of_year",  "whole",       "1",       "366",
            "Of the first night; 190 is early July."),
        Row("t_max",        "t_max_c",      "temperature", "-20 C",   "55 C",
            "Of an average day."),
        Row("t_min",        "t_min_c",      "temperature", "-30 C",   "40 C",
            "Of an average night."),
        Row("humidity_max", "humidity_max", "share",       "1 %",     "100 %",
            "Before sunrise.", PERCENT),
        Row("humidity_min", "humidity_min", "share",       "1 %",     "100 %",
            "In the afternoon.", PERCENT),
        Row("wind",         "wind_m_s",     "speed",       "0 m/s",   "25 m/s",
            "Mean of the day, 2 m above the ground."),
        Row("sunshine",     "sunshine",     "share",       "0 %",     "100 %",
            "Of the possible hours."),
        Row("rain_chance",  "rain_chance",  "share",       "0 %",     "100 %",
            "Of a wet day."),
        Row("rain",         "rain_mm",      "water depth", "0 mm",    "200 mm",
            "Mean of a wet day.", MILLIMETRE),
    ),
)

BOARD = Table(
    "board", "board", site.BoardSpec,
    "The board. What is fitted must be said for every channel: silence is not an answer.",
    (
        Row("battery",       "battery_fitted",    "fitted",    "",      "",
            "Battery voltage."),
        Row("pressure",      "pressure_fitted",   "fitted",    "",      "",
            "Pressure transducer at the pump outlet."),
        Row("load_sense",    "load_sense_fitted", "fitted",    "",      "",
            "Voltage sense on the pump side of the relay."),
        Row("rain",          "rain_fitted",       "fitted",    "",      "",
            "Rain contact."),
        Row("button",        "button_fitted",     "fitted",    "",      "",
            "Push button."),
        Row("frost",         "frost_fitted",      "fitted",    "",      "",
            "Frost thermometer."),
        Row("current",       "current_fitted",    "fitted",    "",      "",
            "Current of the pump."),
        Row("battery_full",  "battery_full_v",    "voltage",   "15 V",  "60 V",
            "Battery voltage that fills the converter."),
        Row("pressure_span", "pressure_span_pa",  "pressure",  "1 bar", "25 bar",
            "Full scale of the transducer."),
        Row("current_span",  "current_span_a",    "current",   "5 A",   "200 A",
            "Full scale of the current channel."),
        Row("clock_backed",  "clock_backed",      "yes or no", "",      "",
            "Whether the clock keeps time while the battery is away."),
        Row("own_fuse",      "own_fuse",          "yes or no", "",      "",
            "Whether a fuse of its own feeds the board, past the pump's: it then outlives that."),
        Row("second_relay",  "second_relay_fitted", "yes or no", "", "",
            "Whether a second relay is fitted, in series: it opens where the first has welded."),
        Row("flow_meter",    "flow_fitted",       "yes or no", "",      "",
            "Whether a flow meter that gives pulses is fitted at the pump's outlet."),
        Row("flow_pulses",   "flow_pulses_per_l", "number",    "1",     "20000",
            "Pulses of the flow meter for each litre (0.264 gal), as its sheet has it."),
        Row("awake",         "awake_a",           "current",   "1 mA",  "1 A",
            "Drawn by the board itself while awake."),
        Row("asleep",        "asleep_a",          "current",   "0 mA",  "1 A",
            "Drawn by the board itself while asleep."),
    ),
)

SET = Table(
    "set", "sets", site.SetSpec,
    "A nightly set. Say how much with one of run, depth or volume.",
    (
        Row("start",  "start_s",  "clock",       "",       "",
            "When it starts."),
        Row("run",    "amount",   "time",        "1 min",  "600 min",
            "Pumping, without the pauses.", MINUTE),
        Row("depth",  "amount",   "water depth", "0.1 mm", "60 mm",
            "On the plot, on average.", MILLIMETRE),
        Row("volume", "amount",   "volume",      "1 L",    "50000 L",
            "Through the sprinkler.", LITRE),
        Row("runs",   "runs",     "whole",       "1",      "12",
            "Split into so many runs."),
        Row("soak",   "soak_s",   "time",        "0 min",  "360 min",
            "Pause between the runs."),
        Row("window", "window_s", "time",        "0 min",  "720 min",
            "A missed set may still start so long after its time."),
    ),
    many=True,
    one_of={"run": "minutes", "depth": "depth", "volume": "volume"},
)

BATTERY_TRIP = Table(
    "battery_trip", "battery_trips", site.BatteryTrip,
    "The battery is taken home on the day after this night and comes back charged.",
    (
        Row("after_night", "after_night", "whole", "1", "365",
            "Counted from 1."),
        Row("away_from",   "away_from_s", "clock", "",  "",
            "When it leaves."),
        Row("back_at",     "back_at_s",   "clock", "",  "",
            "When it is connected again, the same day."),
        Row("charged",     "charged",     "share", "5 %", "100 %",
            "How full it then is."),
    ),
    many=True,
)

FAULT = Table(
    "fault", "faults", site.FaultSpec,
    "Something that goes wrong in the replay, to see what the board does about it.",
    (
        Row("name",     "name",     "fault",  "",          "",
            "From the catalogue of faults."),
        Row("night",    "night",    "whole",  "1",         "365",
            "Counted from 1."),
        Row("offset",   "offset_s", "time",   "-1440 min", "1440 min",
            "From the start of that night's first set."),
        Row("lasts",    "duration_s", "time", "0 min",     "100000 min",
            "For how long; 0 min is to the end of the replay."),
        Row("severity", "severity", "number", "-1",        "1",
            "From 0, hardly felt, to 1, full; below 0 only where it has two directions."),
        Row("grows",    "grows_s",  "time",   "0 min",     "100000 min",
            "How long until it is so bad; 0 min is its own time, mostly at once."),
    ),
    many=True,
)

# fmt: on

TABLES = (
    *(WATER, SUCTION, PUMP, LINE, SPRINKLER, CABLE, BATTERY, SOLAR, HOME, PERMIT),
    *(PLOT, WEATHER, BOARD, SET, SHEET_ROW, BATTERY_TRIP, FAULT),
)
