"""Tightening, stiffness, stripping and dowel shear beside tables and worked examples."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, radians, tan

from orthostat.base.dimensions import Metre, MetrePerNewton, Newton, Pascal, Ratio, SquareMetre
from orthostat.catalogue import head, property_class, thread
from orthostat.formulas import bolting, pins
from orthostat.validation.cases import case

INCH, POUND_FORCE, PSI = 0.0254, 4.4482216152605, 6894.757293168361
MLBF_PER_INCH = 1e6 * POUND_FORCE / INCH
PRINTED = "the table prints three figures and takes its own bearing diameters"

PRELOADS = {
    # thread, class, friction: printed preload [kN] and torque [N·m]
    ("M8x1", "8.8", 0.12): (20.2, 26.1), ("M10x1.25", "8.8", 0.12): (31.6, 51.0),
    ("M12x1.25", "8.8", 0.10): (49.1, 79.0), ("M12x1.25", "8.8", 0.12): (48.0, 90.0),
    ("M12x1.25", "8.8", 0.14): (46.8, 101.0), ("M12x1.25", "10.9", 0.12): (70.5, 133.0),
    ("M16x1.5", "8.8", 0.12): (87.6, 218.0), ("M16x1.5", "12.9", 0.12): (150.6, 374.0),
    ("M20x1.5", "8.8", 0.12): (148.0, 454.0), ("M20x1.5", "10.9", 0.12): (211.0, 646.0),
}  # fmt: skip
DOWELS = {0.125: 1600, 0.25: 6400, 0.375: 14_350, 0.5: 25_500, 0.625: 39_900, 0.75: 57_000, 1.0: 102_000}
"""Nominal diameter [in]: calculated single shear load [lbf] at 130 ksi."""


def _preload(name: str, grade: str, friction: float) -> Newton:
    row = thread(name)
    band = property_class(grade).band(row.nominal)
    assert band is not None
    return bolting.tightening_preload(
        band.yield_strength,
        utilisation=Ratio(0.9),
        thread_friction=Ratio(friction),
        stress_area=row.stress_area,
        pitch=row.pitch,
        pitch_diameter=row.pitch_diameter,
    )


def _torque(name: str, grade: str, friction: float) -> float:
    row, sizes = thread(name), head(name)
    assert sizes.bearing_diameter is not None
    assert row.clearance_normal is not None
    return bolting.tightening_torque(
        _preload(name, grade, friction),
        thread_friction=Ratio(friction),
        head_friction=Ratio(friction),
        pitch=row.pitch,
        pitch_diameter=row.pitch_diameter,
        bearing_diameter=bolting.mean_bearing_diameter(
            outside=sizes.bearing_diameter, inside=row.clearance_normal
        ),
    )


def _each_tightening(name: str, grade: str, friction: float, printed: tuple[float, float]) -> None:
    source = "fastener-catalogue-p685, preload and torque of fine threads after VDI 2230 (2001)"
    case(
        f"Preload of {name} {grade} at µ {friction}", expected=printed[0], unit="kN", relative=0.01,
        source=source, reason=PRINTED,
    )(lambda: _preload(name, grade, friction) / 1e3)  # fmt: skip
    case(
        f"Torque of {name} {grade} at µ {friction}", expected=printed[1], unit="N·m", relative=0.02,
        source=source, reason=PRINTED,
    )(lambda: _torque(name, grade, friction))  # fmt: skip


for _key, _printed in PRELOADS.items():
    _each_tightening(*_key, _printed)


@case(
    "Preload of M12 8.8 at µ 0.12",
    expected=43.0,
    unit="kN",
    relative=0.01,
    source="vdi-2230-1-2003, table A1, from memory",
    reason=PRINTED,
)
def m12_preload() -> float:
    return _preload("M12", "8.8", 0.12) / 1e3


@case(
    "Torque of M12 8.8 at µ 0.12",
    expected=84.0,
    unit="N·m",
    relative=0.02,
    source="vdi-2230-1-2003, table A1, from memory",
    reason=PRINTED,
)
def m12_torque() -> float:
    return _torque("M12", "8.8", 0.12)


@case(
    "Preload of M12 8.8 at µ 0.14",
    expected=41.9,
    unit="kN",
    relative=0.01,
    source="fastener-reference-values-2021, worked example of M12x40 8.8",
    reason=PRINTED,
)
def m12_preload_dry() -> float:
    return _preload("M12", "8.8", 0.14) / 1e3


@case(
    "Least preload of M12 8.8 at µ 0.14 with a tightening factor of 1.8",
    expected=23.3,
    unit="kN",
    relative=0.01,
    source="fastener-reference-values-2021, worked example of M12x40 8.8",
    reason=PRINTED,
)
def m12_least() -> float:
    return bolting.scattered_least(_preload("M12", "8.8", 0.14), Ratio(1.8)) / 1e3


def _shigley_clamped() -> float:
    """⅝ in bolt through 1.5 in of cast iron of 14 Mpsi, cones of 30° from a washer face of 1.5 d."""
    hole, half = Metre(0.625 * INCH), Metre(0.75 * INCH)
    small = Metre(1.5 * hole)
    large = bolting.cone_large_end(small=small, thickness=half, tangent=Ratio(tan(radians(30.0))))
    cone = bolting.frustum_resilience(Pascal(14e6 * PSI), hole=hole, small=small, large=large, thickness=half)
    return 2.0 * cone


@case(
    "Bolt stiffness, ⅝-11 UNC × 2¼ in",
    expected=5.21,
    unit="Mlbf/in",
    tolerance=0.01,
    source="shigley, example 8-4",
    reason="printed to three figures",
)
def bolt_stiffness() -> float:
    row = thread("5/8-11 UNC")
    made = bolting.stud_stiffness(
        Pascal(30e6 * PSI),
        shank_area=SquareMetre(0.25 * pi * row.nominal**2),
        shank_length=Metre(0.75 * INCH),
        thread_area=row.stress_area,
        thread_length=Metre(0.75 * INCH),
    )
    return made / MLBF_PER_INCH


@case(
    "Stiffness of the clamped cast iron",
    expected=8.95,
    unit="Mlbf/in",
    tolerance=0.01,
    source="shigley, example 8-4",
    reason="printed to three figures",
)
def member_stiffness() -> float:
    return 1.0 / _shigley_clamped() / MLBF_PER_INCH


@case(
    "Share of the load that the bolt takes",
    expected=0.368,
    unit="1",
    tolerance=0.001,
    source="shigley, example 8-4",
    reason="printed to three figures",
)
def load_share() -> float:
    stud = 1.0 / (bolt_stiffness.compute() * MLBF_PER_INCH)
    return bolting.load_share(stud=MetrePerNewton(stud), clamped=MetrePerNewton(_shigley_clamped()))


@case(
    "Stiffness of the clamped cast iron by the finite-element fit",
    expected=8.95,
    unit="Mlbf/in",
    relative=0.03,
    source="shigley, eq. 8-23 beside example 8-4",
    reason="the fit and the cones are two published models that agree to some 2 %",
)
def member_stiffness_by_fit() -> float:
    made = bolting.member_stiffness_wileman(
        Pascal(14e6 * PSI),
        coefficient=Ratio(0.77871),
        exponent=Ratio(0.61616),
        diameter=Metre(0.625 * INCH),
        grip=Metre(1.5 * INCH),
    )
    return made / MLBF_PER_INCH


@case(
    "Nut-factor torque of the same bolt at 75 % of proof",
    expected=14.4 * 0.2 * 0.625 * 1000,
    unit="lbf·in",
    relative=0.01,
    source="shigley, eq. 8-27 with the preload of example 8-4 (14.4 kip), from memory",
    reason="the preload is printed to three figures",
)
def nut_factor() -> float:
    made = bolting.nut_factor_torque(Newton(14.4e3 * POUND_FORCE), Ratio(0.2), diameter=Metre(0.625 * INCH))
    return made / (POUND_FORCE * INCH)


def _width_at(diameter: float, *, nominal: float, pitch: float, internal: bool) -> float:
    """Width of thread material at a cylinder, from the basic profile drawn as a polygon."""
    from shapely import LineString, Polygon

    height = 0.5 * 3**0.5 * pitch
    major, minor = 0.5 * nominal, 0.5 * nominal - 0.625 * height
    # one pitch of the bolt's tooth: crest P/8 wide at the major radius, root P/4 at the minor
    tooth = Polygon(
        [(-0.375 * pitch, minor), (-0.0625 * pitch, major), (0.0625 * pitch, major), (0.375 * pitch, minor)]
    )
    line = LineString([(-0.5 * pitch, 0.5 * diameter), (0.5 * pitch, 0.5 * diameter)])
    bolt = float(line.intersection(tooth).length)
    return pitch - bolt if internal else bolt


@case(
    "Stripping area of a tapped M12 hole, 18 mm engaged",
    expected=1.0,
    unit="of the drawn profile",
    tolerance=1e-6,
    source="iso-68-1, basic profile drawn with shapely, against the formula of FED-STD-H28/2B",
    reason="the formula is the exact width of the basic profile",
    needs="shapely",
)
def internal_strip() -> float:
    row = thread("M12")
    width = _width_at(row.nominal * (1 - 1e-9), nominal=row.nominal, pitch=row.pitch, internal=True)
    drawn = pi * row.nominal * width * 0.018 / row.pitch
    ours = bolting.internal_shear_area(
        engagement=Metre(0.018),
        pitch=row.pitch,
        major_diameter=row.nominal,
        mating_pitch_diameter=row.pitch_diameter,
    )
    return ours / drawn


@case(
    "Stripping area of an M12 stud, 18 mm engaged",
    expected=1.0,
    unit="of the drawn profile",
    tolerance=1e-6,
    source="iso-68-1, basic profile drawn with shapely, against the formula of FED-STD-H28/2B",
    reason="the formula is the exact width of the basic profile",
    needs="shapely",
)
def external_strip() -> float:
    row = thread("M12")
    minor = row.internal_minor_diameter
    width = _width_at(minor * (1 + 1e-9), nominal=row.nominal, pitch=row.pitch, internal=False)
    drawn = pi * minor * width * 0.018 / row.pitch
    ours = bolting.external_shear_area(
        engagement=Metre(0.018), pitch=row.pitch, minor_diameter=minor, pitch_diameter=row.pitch_diameter
    )
    return ours / drawn


def _dowel(diameter: float) -> Callable[[], float]:
    return lambda: pins.single_shear_force(Pascal(130e3 * PSI), Metre(diameter * INCH)) / POUND_FORCE


for _diameter, _load in DOWELS.items():
    case(
        f"Single shear of a hardened {_diameter:g} in dowel", expected=_load, unit="lbf", relative=0.01,
        source="dowel-pin-data-sheet, table after ASME B18.8.2",
        reason="the table rounds to 50 lbf and more",
    )(_dowel(_diameter))  # fmt: skip
