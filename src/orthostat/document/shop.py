"""`shop.toml`: machines, pallets, tools, materials, prices and what the shop wants of its columns."""

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from orthostat.document.casting import Aggregate, Mixer, Resin
from orthostat.document.fastening import Raised
from orthostat.document.parts import (
    Name,
    Outline,
    Part,
    Platform,
    Positive,
    PriceOf,
    Range,
    Text,
    Whole,
    one_or_more,
)
from orthostat.document.quantities import (
    Acceleration,
    Angle,
    AngularAcceleration,
    Conductivity,
    Density,
    EnteringAngle,
    Expansion,
    Force,
    Frequency,
    HelixAngle,
    Inertia,
    Length,
    Mass,
    Moment,
    MoneyRate,
    PointAngle,
    PoissonsRatio,
    PositiveRatio,
    Power,
    Ratio,
    RotationSpeed,
    Share,
    Size,
    SpecificHeat,
    Stiffness,
    Stress,
    Temperature,
    TemperatureDifference,
    Thickness,
    TiltStiffness,
    Time,
)
from orthostat.document.station import Fixture


class Units(Part):
    """Default units: a bare number of a kind named here is read in its unit."""

    system: Literal["metric", "inch"] | None = None
    """What findings are shown in first; by default whichever the documents are mostly typed in."""
    length: Name | None = None
    angle: Name | None = None
    mass: Name | None = None
    force: Name | None = None
    moment: Name | None = None
    pressure: Name | None = None
    speed: Name | None = None
    time: Name | None = None
    temperature: Name | None = None
    currency: Name | None = None
    """ISO 4217 code that costs are totalled in."""


class HeadCylinder(Part):
    """A coaxial cylinder of the spindle nose or head; distances behind the gauge line."""

    diameter: Size
    start: Length
    end: Length


class HeadBox(Part):
    """A box of the head about the spindle axis: ranges across (x) and up (y)."""

    x: Range
    y: Range
    start: Length
    end: Length


class SpindlePoint(Part):
    """A point of the spindle's continuous curve."""

    speed: RotationSpeed
    torque: Moment | None = None
    power: Power | None = None


class Magazine(Part):
    """Limits of the tool changer."""

    pockets: Whole | None = None
    diameter: Size | None = None
    """Largest tool with neighbours in the magazine."""
    diameter_beside_empty: Size | None = None
    length: Size | None = None
    mass: Mass | None = None
    moment: Moment | None = None


class Changer(Outline):
    """Plan room about the pallet's centre while pallets change, and the height of its door."""

    height: Size | None = None
    b: (
        Annotated[tuple[Angle, ...], BeforeValidator(one_or_more), Field(min_length=1, max_length=24)] | None
    ) = None
    """Where B stands when pallets change: one angle, or each of them."""


class Door(Part):
    """Opening through which column and pallet are loaded."""

    width: Size | None = None
    height: Size | None = None


class Machine(Part):
    """A horizontal machining centre; leave out what is not known."""

    x: Range | None = None
    """X travel: one length shared equally about the B axis, or both ends seen from it."""
    y: Size | None = None
    """Y travel; only needed where `spindle_height` gives one end."""
    z: Size | None = None
    """Z travel; only needed where `nose_to_b` gives one end."""
    spindle_height: Range | None = None
    """Spindle centre line above the pallet top: lowest, or lowest and highest."""
    nose_to_b: Range | None = None
    """Spindle nose (gauge line) to B axis: nearest, or nearest and farthest."""
    swing: Size | None = None
    """Largest swing, a diameter."""
    height: Size | None = None
    """Highest point allowed above the pallet top."""
    load: Mass | None = None
    """Heaviest load on the pallet."""
    load_includes_pallet: Annotated[bool, Field(strict=True)] = False
    inertia: Inertia | None = None
    """Largest load moment of inertia about B."""
    eccentric_moment: Moment | None = None
    """Largest static moment of an off-centre load about B."""
    changer: Changer | None = None
    door: Door | None = None
    b_positive: Literal["clockwise", "counter-clockwise"] = "clockwise"
    """Sense of +B seen from above (ISO 841: clockwise)."""
    b_step: Angle | None = None
    """Smallest index step of B; 0 deg for any angle."""
    b_acceleration: AngularAcceleration | None = None
    b_torque: Moment | None = None
    """Torque about B that the clamped table holds."""
    axis_acceleration: Acceleration | None = None
    stop_acceleration: Acceleration | None = None
    """Deceleration in an emergency stop."""
    pallet_moves: Annotated[bool, Field(strict=True)] | None = None
    """Whether the pallet (not the spindle) moves along some linear axis."""
    clamp_force: Force | None = None
    clamp_moment: Moment | None = None
    table_stiffness: Stiffness | None = None
    table_tilt_stiffness: TiltStiffness | None = None
    table_turn_stiffness: TiltStiffness | None = None
    table_loss_factor: Share | None = None
    """Loss factor (twice the damping ratio) of the table and of what clamps the pallet to it."""
    spindle_curve: tuple[SpindlePoint, ...] | None = None
    spindle_efficiency: Share | None = None
    spindle_speed_limit: RotationSpeed | None = None
    head_cylinders: tuple[HeadCylinder, ...] | None = None
    """Spindle nose and head as cylinders; leave out if not known, [] if there are none."""
    head_boxes: tuple[HeadBox, ...] | None = None
    magazine: Magazine | None = None
    pallet_change_time: Time | None = None
    tool_change_time: Time | None = None
    rate: MoneyRate | None = None
    note: Text | None = None


class Step(Part):
    """One cylinder of a tool assembly behind the cutter, toward the spindle."""

    diameter: Size
    length: Size | None = None
    start: Length | None = None
    """From the tip; by default where the step before ends."""
    end: Length | None = None


class Mode(Part):
    """The tool side's own first mode at the tip, from a tap test."""

    frequency: Frequency
    stiffness: Stiffness
    damping: Share


class Tool(Part):
    """A tool assembly: cutter, then coaxial steps back to the gauge line."""

    kind: Literal[
        "face mill", "end mill", "drill", "core drill", "reamer", "boring bar", "tap", "thread mill", "probe"
    ]
    diameter: Size
    """What it cuts flat in the tip plane; a drill's, reamer's or tap's nominal diameter."""
    largest_diameter: Size | None = None
    """Widest of the cutting part, where it is wider than `diameter` (45° or round inserts)."""
    cutting_length: Size
    """Length of the cutting part from the tip."""
    steps: tuple[Step, ...] | None = None
    """Shank, holder, flange; leave out if not known."""
    gauge_length: Size | None = None
    """Tip to gauge line."""
    teeth: Annotated[int, Field(strict=True, ge=1, le=200)] | None = None
    entering_angle: EnteringAngle | None = None
    point_angle: PointAngle | None = None
    helix_angle: HelixAngle | None = None
    rake_angle: HelixAngle | None = None
    plunges: Annotated[bool, Field(strict=True)] | None = None
    """Whether it may enter solid material straight along Z; by default only hole-making tools."""
    thread: Name | None = None
    """Of a tap or thread mill."""
    mass: Mass | None = None
    number: Whole | None = None
    wear_factor: PositiveRatio | None = None
    mode: Mode | None = None
    price: PriceOf | None = None
    note: Text | None = None


def _sizes(raw: Any) -> Any:
    return [raw] if isinstance(raw, str | int | float) and not isinstance(raw, bool) else raw


Sizes = Annotated[tuple[Size, ...], BeforeValidator(_sizes)]
"""One size or a list of them."""


class Bench(Part):
    """Hole-making tools that pieces are made with off the machine: nobody asks whether they reach."""

    drills: Sizes = ()
    reamers: Sizes = ()
    counterbores: Sizes = ()
    taps: tuple[Name, ...] = ()


class Material(Part):
    """A material of the shop's own; `like` starts from a catalogue row."""

    like: Name | None = None
    density: Density | None = None
    youngs_modulus: Stress | None = None
    poissons_ratio: PoissonsRatio | None = None
    expansion: Expansion | None = None
    loss_factor: Ratio | None = None
    yield_strength: Stress | None = None
    tensile_strength: Stress | None = None
    shear_strength: Stress | None = None
    bearing_limit: Stress | None = None
    conductivity: Conductivity | None = None
    specific_heat: SpecificHeat | None = None
    price: PriceOf | None = None
    note: Text | None = None


class CutMaterial(Part):
    """A work material's Kienzle constants as the shop measured or looked them up."""

    kc11: Stress
    mc: Ratio
    source: Text | None = None


class Margins(Part):
    """How far from its limit a finding must stay to hold, as a share of the limit."""

    wanted: Share | None = None
    findings: dict[Name, Share] = {}
    """By finding, such as `"hold.slip" = "20 %"`."""


class Limits(Part):
    """What the shop wants where no machine says it."""

    hand_lift: Mass | None = None
    """Heaviest piece one person may lift."""
    transport_tilt: Angle | None = None
    """Tilt the free-standing column must bear on its way to the machine."""
    hole_tolerance: Length | None = None
    """How far a stud or pin may stand from its hole's centre."""
    slip_steady: PositiveRatio | None = None
    slip_reversing: PositiveRatio | None = None
    lift: PositiveRatio | None = None
    pin_shift: Length | None = None
    """How far the column may move before the pins take over."""
    strength: PositiveRatio | None = None
    """Wanted safety on yield of screws, threads and pins."""
    deflection: Length | None = None
    """Movement allowed at a cut that states no tolerance."""
    temperature_change: TemperatureDifference | None = None
    """Shop temperature, up or down from when the column was trued."""
    temperature_across: TemperatureDifference | None = None
    """How much warmer one side of a column may stand than the other."""
    coolant: Annotated[bool, Field(strict=True)] | None = None
    """Whether coolant or oil reaches the joint under the column (it does unless stated)."""
    least_frequency: Frequency | None = None
    price_age: Time | None = None
    """How old a price may be on the day the cost is worked out for."""


class Clearances(Part):
    """How far moving bodies must stay apart (collision); for cutting it is zero."""

    radial: Thickness | None = None
    axial: Thickness | None = None
    chord: Size | None = None
    """Largest error of a round outline drawn as chords, to the safe side."""


class Rates(Part):
    """Labour, and what a day costs."""

    labour: MoneyRate | None = None
    machine: MoneyRate | None = None
    waiting: MoneyRate | None = None
    """What it costs to be without the column, such as 40 EUR/day."""
    exchange: dict[Name, PositiveRatio] = {}
    """Value of one unit of another currency in the shop's own."""
    batch: Positive | None = None
    """Columns alike that are made together and share what is done once."""
    pour_failure: Share | None = None
    """Chance that a pour has to be thrown away."""
    making_time: Time | None = None
    """From order to finished column when the shop makes it itself."""
    as_of: dt.date | None = None
    """Day the cost is worked out for."""
    kerf: Thickness | None = None
    """What the saw turns to chips."""
    clean_up: Thickness | None = None
    """What is left on a sawn edge for milling."""
    times: dict[Name, Time] = {}
    """The shop's own time for one of an operation, such as `"tap a hole" = "45 s"`."""


class Stock(Part):
    """A size of plate, bar or tube, a fastener or a consumable that a supplier sells."""

    material: Name | None = None
    form: Literal["plate", "bar", "tube", "piece", "consumable"]
    thickness: Size | None = None
    width: Size | None = None
    length: Size | None = None
    diameter: Size | None = None
    wall: Size | None = None
    what: Literal["stud", "nut", "washer", "pin", "insert", "screw"] | None = None
    """Of a piece: what it is."""
    thread: Name | None = None
    """Of a stud, nut, washer, insert or screw: the thread it goes with."""
    count: Whole | None = None
    """Of a consumable: how many a column takes."""
    price: PriceOf | None = None


class Quote(Part):
    """An offer for a bought column."""

    price: PriceOf
    mass: Mass | None = None
    lead_time: Time | None = None
    freight: PriceOf | None = None
    material: Name | None = None
    date: dt.date | None = None
    note: Text | None = None


class Room(Part):
    """The shop's own air."""

    temperature: Temperature | None = None
    coldest: Temperature | None = None
    warmest: Temperature | None = None


class Shop(Part):
    """The shop: everything its columns refer to by name."""

    name: Text | None = None
    note: Text | None = None
    units: Units = Units()
    margins: Margins = Margins()
    limits: Limits = Limits()
    clearances: Clearances = Clearances()
    room: Room = Room()
    rates: Rates = Rates()
    machines: dict[Name, Machine] = {}
    pallets: dict[Name, Platform] = {}
    bases: dict[Name, Raised] = {}
    tools: dict[Name, Tool] = {}
    bench: Bench = Bench()
    materials: dict[Name, Material] = {}
    cut_materials: dict[Name, CutMaterial] = {}
    fixtures: dict[Name, Fixture] = {}
    aggregates: dict[Name, Aggregate] = {}
    resins: dict[Name, Resin] = {}
    mixers: dict[Name, Mixer] = {}
    stock: dict[Name, Stock] = {}
    quotes: dict[Name, Quote] = {}
