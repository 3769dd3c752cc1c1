"""One site, in SI units: everything the plant needs to know, and nothing about files.

The desktop tool reads a site file into these records; the sizing, the plant and the replay
all work from them. A field's unit is in its name; a plain number without a suffix is a count
or a ratio.
"""

from dataclasses import dataclass, field, replace

CHEMISTRIES = ("flooded", "agm", "lfp")
DUTIES = ("not given", "continuous", "intermittent")
END_OF_LIFE_SHARE = 0.8
"""IEEE Std 450: replace a lead-acid battery at 80 % of its rating (from memory)."""
SOILS = ("sand", "loamy sand", "sandy loam", "loam", "clay loam", "clay")


@dataclass(frozen=True)
class WaterSource:
    """Open water that the suction line stands in."""

    altitude_m: float = 0.0
    temperature_c: float = 15.0
    lift_m: float = 1.5
    """Height of the pump above the water, at the start of the week."""
    fall_m_per_day: float = 0.0
    """How fast the level drops; a cistern that is emptied shows up here."""
    cover_m: float = 0.5
    """Water above the strainer at the start of the week; none left means air."""
    stored_m3: float = 0.0
    """Volume above the strainer at the start of the week; 0: more than anybody takes."""
    full_m3: float = 0.0
    """The same when it is full; not less than what is stored at the start."""
    roof_m2: float = 0.0
    """Roof that drains into it, as seen from above."""
    inflow_m3_s: float = 0.0
    """What a spring or a stream yields."""


@dataclass(frozen=True)
class SuctionSpec:
    """Suction line from the strainer to the pump."""

    length_m: float = 3.0
    bore_m: float = 0.019
    roughness_m: float = 1.5e-6
    foot_valve: str = "poppet"
    """"poppet", "hinged" or "none" (Crane TP-410)."""
    strainer_k: float = 2.0
    """Loss of the clean strainer in velocity heads of the suction bore."""
    fittings_k: float = 1.0
    stop_valve: bool = False
    """A valve that is open only while the pump runs: nothing runs through a standing pump."""


@dataclass(frozen=True)
class PumpSheet:
    """A diaphragm pump as its data sheet describes it, at ``rated_v``."""

    rated_v: float = 12.0
    open_flow_m3_s: float = 5.5 * 3.785411784e-3 / 60.0
    open_current_a: float = 8.0
    shutoff_pa: float = 60.0 * 6894.757
    """Pressure at which the pump's own switch opens, or its highest rated pressure."""
    max_current_a: float = 17.0
    max_pressure_pa: float = 60.0 * 6894.757
    """The pump and everything on its outlet are rated for this."""
    pressure_switch: bool = False
    """True where the pump carries its own cut-off switch at ``shutoff_pa``."""
    speed_rad_s: float = 230.4
    """About 2200 rpm: typical of the class where the sheet is silent."""
    winding_ohm: float = 0.0
    """0: unknown, chosen by the fit within the range of the class."""
    dry_lift_m: float = 2.0
    """Height that the pump can prime from with a dry line."""
    minimum_v: float = 9.0
    """Below this the motor may stall."""
    duty: str = "not given"
    """What the sheet rates the motor for: one of ``DUTIES``."""
    duty_on_s: float = 0.0
    """Intermittent: so long on..."""
    duty_off_s: float = 0.0
    """...then so long off."""
    points: tuple[tuple[float, float, float], ...] = ()
    """The sheet's table, rising: pressure [Pa], flow [m3/s], current [A]; may be empty."""

    def with_table(self, rows: "tuple[SheetRow, ...]") -> "PumpSheet":
        """The same pump by its table: the four figures are those of the first and last row."""
        rising = sorted((row.pressure_pa, row.flow_m3_s, row.current_a) for row in rows)
        first, last = rising[0], rising[-1]
        return replace(
            self,
            open_flow_m3_s=first[1],
            open_current_a=first[2],
            shutoff_pa=last[0],
            max_current_a=last[2],
            points=tuple(rising),
        )


@dataclass(frozen=True)
class SheetRow:
    """One row of the pump's table, at its rated voltage."""

    pressure_pa: float
    flow_m3_s: float
    current_a: float


@dataclass(frozen=True)
class LineSpec:
    """Delivery line from the pump to the sprinkler."""

    length_m: float = 30.0
    bore_m: float = 0.015875
    roughness_m: float = 1.5e-6
    fittings_k: float = 2.0
    rise_m: float = 1.0
    """Height of the nozzle above the pump."""
    wall_m: float = 2.5e-3
    modulus_pa: float = 20.0e6
    """Stiffness of the hose wall: soft PVC 20 to 50 MPa."""


@dataclass(frozen=True)
class SprinklerSpec:
    """One sprinkler on a stand: its nozzles as one orifice, its throw and its place."""

    nozzle_bore_m: float = 0.0045
    nozzle_count: int = 1
    discharge_coefficient: float = 0.95
    elevation_deg: float = 25.0
    arc_deg: float = 360.0
    facing_deg: float = 0.0
    """Middle of the arc, clockwise from north."""
    x_m: float = 0.0
    y_m: float = 0.0
    pattern: str = "triangular"
    """"triangular" (depth falls with the radius), "even" or "doughnut" (pressure too low)."""
    least_pa: float = 0.0
    """Pressure at the nozzle that its sheet asks for at the least; 0: the sheet is silent."""


@dataclass(frozen=True)
class CableSpec:
    """Two-wire cable between battery and pump, with all that is in its way."""

    length_m: float = 1.5
    """One way: the current travels it twice."""
    area_m2: float = 4.0e-6
    strand_class: int = 5
    insulation: str = "pvc"
    """What the wire may carry goes by it: one of ``supply.wiring.INSULATIONS``."""
    clamp_ohm: float = 0.004
    """Both clamps or terminals together."""
    fuse_a: float = 25.0
    fuse_ohm: float = 0.003
    relay_ohm: float = 0.005
    """Of each relay's contact."""
    temperature_c: float = 20.0


@dataclass(frozen=True)
class BatterySpec:
    """The battery that is carried home."""

    chemistry: str = "flooded"
    capacity_ah: float = 80.0
    """Rated at the 20 h rate and 25 C."""
    age: float = 0.1
    """0 new, 1 at the end of its life (80 % of the rated charge left)."""
    temperature_c: float = 15.0
    """At first, and what its limits are worked out for."""
    box_s: float = 8.0 * 3600.0
    """Time constant with which it then follows the air; 0: it stays as it is."""
    resistance_ohm: float = 0.0
    """0: from chemistry and size."""
    measured_ah: float = 0.0
    """What a full one was found to give in 20 h at 25 C, in place of an age; 0: not measured."""
    used_share: float = 0.0
    """Share of its charge that it may give between two charges; 0: as its chemistry bears."""

    @property
    def lived(self) -> float:
        """Share of its life that is over: from the measured charge, or the age; over 1 where
        less than 80 % of the rating was found."""
        if self.measured_ah > 0.0:
            return (1.0 - self.measured_ah / self.capacity_ah) / (1.0 - END_OF_LIFE_SHARE)
        return self.age

    def rated(self, capacity_ah: float) -> "BatterySpec":
        """One of another rating in the same state: what was measured grows with it.

        >>> BatterySpec(capacity_ah=80.0, measured_ah=60.0).rated(100.0).measured_ah
        75.0
        """
        measured_ah = self.measured_ah * capacity_ah / self.capacity_ah
        return replace(self, capacity_ah=capacity_ah, measured_ah=measured_ah)

    def at_age(self, age: float) -> "BatterySpec":
        """The same battery at another age."""
        return replace(self, age=age, measured_ah=0.0)


@dataclass(frozen=True)
class SolarSpec:
    """A small panel that lies flat beside the battery and charges it by day."""

    power_w: float = 0.0
    """Rated, in full sun (1000 W/m2, 25 C); 0: there is none."""
    efficiency: float = 0.7
    """Share of the rated yield that reaches the battery: heat, dust, wires and controller."""


@dataclass(frozen=True)
class PlotSpec:
    """The plot: a rectangle with its south-west corner at the origin."""

    width_m: float = 10.7
    depth_m: float = 12.2
    crop: str = "lettuce"
    stage: str = "mid"
    """"ini", "mid" or "end" (FAO-56 table 17)."""
    soil: str = "loam"
    root_m: float = 0.4
    deficit_mm: float = 10.0
    """Water missing from the root zone at the start."""


@dataclass(frozen=True)
class WeatherSpec:
    """What the weather of the week is drawn around."""

    latitude_deg: float = 46.0
    day_of_year: int = 190
    t_max_c: float = 27.0
    t_min_c: float = 14.0
    humidity_max: float = 85.0
    humidity_min: float = 45.0
    wind_m_s: float = 1.5
    sunshine: float = 0.7
    """Share of the possible hours of sunshine."""
    rain_chance: float = 0.15
    """Chance of a wet day."""
    rain_mm: float = 6.0
    """Mean of a wet day."""


@dataclass(frozen=True)
class PermitSpec:
    """What may be taken from the water, by right or by licence; 0: no such limit is known."""

    season_m3: float = 0.0
    day_m3: float = 0.0
    begins_day: int = 1
    """Day of the year on which its season begins."""
    taken_m3: float = 0.0
    """Of this season's, before the first night of the log."""


@dataclass(frozen=True)
class SetSpec:
    """One nightly set as the gardener asks for it."""

    start_s: int = 22 * 3600
    """Second of the day."""
    unit: str = "minutes"
    """"minutes", "depth" or "volume"."""
    amount: float = 60.0
    """Minutes, millimetres or litres."""
    runs: int = 1
    """Split into this many runs..."""
    soak_s: int = 0
    """...with this pause between them."""
    window_s: int = 4 * 3600
    """A set missed after a power loss may still start this long after its time."""


@dataclass(frozen=True)
class BoardSpec:
    """What is fitted on the board, and how it is scaled."""

    battery_fitted: bool = True
    battery_full_v: float = 18.3
    """Battery voltage at the top of the converter: 3.3 V through 100k over 22k."""
    pressure_fitted: bool = True
    pressure_span_pa: float = 1.0e6
    """Pressure of a 4.5 V reading of a 0.5 to 4.5 V transducer."""
    load_sense_fitted: bool = True
    rain_fitted: bool = True
    button_fitted: bool = True
    frost_fitted: bool = True
    current_fitted: bool = False
    current_span_a: float = 30.0
    clock_backed: bool = True
    """The clock chip has its own cell and survives the battery's trip home."""
    second_relay_fitted: bool = False
    """In series with the first: it opens where that does not."""
    flow_fitted: bool = False
    """A flow meter at the pump's outlet, before any branch."""
    flow_pulses_per_l: float = 450.0
    """As sold: small wheel meters give 400 to 600 pulses a litre. Common practice, no source."""
    own_fuse: bool = True
    """The board is fed from the battery's post by a fuse of its own, past the pump's; what it
    reads of the battery it reads behind the pump's fuse all the same."""
    awake_a: float = 0.025
    asleep_a: float = 0.004

    @property
    def relays(self) -> int:
        """How many contacts lie in the pump's way."""
        return 2 if self.second_relay_fitted else 1


@dataclass(frozen=True)
class BatteryTrip:
    """The battery is taken home on this night's following day and comes back charged."""

    after_night: int
    away_from_s: int = 9 * 3600
    back_at_s: int = 17 * 3600
    """The first such time after it left."""
    charged: float = 1.0
    """Share of a full charge that it comes back with."""


@dataclass(frozen=True)
class HomeSpec:
    """Home, where the battery is charged: how well, and how often it gets there by habit."""

    charger_a: float = 0.0
    """Of the charger; 0: large enough, the battery comes back as its trip says."""
    every_nights: int = 0
    """It is taken home after so many nights, again and again; 0: by no habit."""
    when_asked: bool = False
    """It is taken home when the board has said that it must be."""
    away_from_s: int = 9 * 3600
    back_at_s: int = 17 * 3600
    looks_every: int = 0
    """Somebody looks at the board every so many days, when the battery would leave, and clears
    what has locked it; 0: nobody does, but for the battery that is asked for."""


@dataclass(frozen=True)
class FaultSpec:
    """One fault of the catalogue: when it starts (from the start of the replay) and how bad."""

    name: str
    night: int
    offset_s: float
    """From the start of that night's first set; may be negative."""
    severity: float = 1.0
    """0 to 1; -1 to 1 where the fault has two directions."""
    duration_s: float = 0.0
    """0: it stays."""
    grows_s: float = 0.0
    """Time in which it grows from nothing to its severity; 0: as the catalogue has it."""


@dataclass(frozen=True)
class InputRange:
    """An input that is only known to lie between two values, in the field's own unit."""

    key: str
    """As in the site file: "water.lift", "set[1].run"."""
    low: float
    high: float


@dataclass(frozen=True)
class Site:
    """The whole site."""

    name: str = "unnamed site"
    units: str = "metric"
    fixed: str = ""
    """Keys of the file that cannot be changed, parted by commas: for advice."""
    water: WaterSource = field(default_factory=WaterSource)
    suction: SuctionSpec = field(default_factory=SuctionSpec)
    pump: PumpSheet = field(default_factory=PumpSheet)
    line: LineSpec = field(default_factory=LineSpec)
    sprinkler: SprinklerSpec = field(default_factory=SprinklerSpec)
    cable: CableSpec = field(default_factory=CableSpec)
    battery: BatterySpec = field(default_factory=BatterySpec)
    solar: SolarSpec = field(default_factory=SolarSpec)
    plot: PlotSpec = field(default_factory=PlotSpec)
    weather: WeatherSpec = field(default_factory=WeatherSpec)
    board: BoardSpec = field(default_factory=BoardSpec)
    sets: tuple[SetSpec, ...] = (SetSpec(),)
    battery_trips: tuple[BatteryTrip, ...] = ()
    home: HomeSpec = field(default_factory=HomeSpec)
    permit: PermitSpec = field(default_factory=PermitSpec)
    faults: tuple[FaultSpec, ...] = ()
    ranges: tuple[InputRange, ...] = ()
    """Inputs whose field holds the middle of a range."""
