"""From a column to the joints it stands on: column, riser, base, pallet, and each fixture on its face."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache
from math import cos, sin

from orthostat.analyses import loads as loads_room
from orthostat.analyses.hold.dowels import dowel_of_pin, dowel_of_station
from orthostat.analyses.hold.fastener import Dowel, Embedding, Fastener, Joint, Losses, Plane, Wanted
from orthostat.analyses.hold.studs import (
    Clamped,
    Ground,
    Under,
    fastener_of_screw,
    fastener_of_stud,
    under_screws,
)
from orthostat.analyses.loads.inputs import Moving, Span
from orthostat.analyses.loads.reading import cut_input, moving, span
from orthostat.analyses.solids import Group, Solids
from orthostat.analyses.solids.solve import group
from orthostat.base.dimensions import (
    KelvinDifference,
    Metre,
    Newton,
    NewtonMetre,
    PascalPerMetre,
    Radian,
    Ratio,
)
from orthostat.base.frames import Vector, face_frame
from orthostat.catalogue import UnknownRow, embedding, friction, material_row
from orthostat.catalogue.practice import contact, practice
from orthostat.formulas.bolting import plate_wavelength
from orthostat.model.bodies import Point2, Polygon, Role
from orthostat.model.column import Column, Fastening, Stud
from orthostat.model.limits import Limits
from orthostat.model.materials import Material
from orthostat.model.stations import Station

FINISH = Metre(16e-6)
"""Roughness Rz taken for machined joint faces when embedding is looked up: N7 to N8, fine milling."""
_DIGITS = 12
"""Decimals of a place about a station's own origin [m]: beyond them it tells where the station hangs."""


Points = tuple[tuple[Vector, ...], ...]
"""Places of each station's cuts in the column frame."""


@dataclass(frozen=True, slots=True)
class JointInput:
    """A joint, whose cuts load it (`None`: every station's), and what stands on it."""

    joint: Joint
    station: str | None
    moving: Moving | None
    places: tuple[Point2, ...]
    """Points of the joint's plane whose movement on the pins matters."""
    tolerance: Metre | None
    """Least tolerance of the cuts that hang on it."""


@dataclass(frozen=True, slots=True)
class Clamp:
    """The pallet on its table: ratings and where it sits."""

    path: str
    height: Metre | None
    """Underside of the pallet (negative) [m]."""
    pallet_path: str
    holding_torque: NewtonMetre | None
    force: Newton | None
    moment: NewtonMetre | None


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything `solve` needs."""

    joints: tuple[JointInput, ...]
    loads: loads_room.Result
    wanted: Wanted
    clamp: Clamp | None
    pin_shift: Metre | None


def inputs_from(column: Column, limits: Limits, solids: Solids, loads: loads_room.Result) -> Inputs:
    """The inputs of one design."""
    machine = column.machine
    clamp = None
    if machine is not None:
        thickness = None if column.pallet is None else column.pallet.thickness
        clamp = Clamp(
            machine.path,
            None if thickness is None else Metre(-thickness),
            f"{column.path}.pallet" if column.pallet is None else f"{column.pallet.path}.thickness",
            machine.b_torque,
            machine.clamp_force,
            machine.clamp_moment,
        )
    points = tuple(station_points(column, station) for station in column.stations)
    joints = (*_stack(column, limits, solids, points), *_fixtures(column, limits, solids, points))
    return Inputs(joints, loads, wanted_of(limits), clamp, limits.pin_shift)


def wanted_of(limits: Limits) -> Wanted:
    """The shop's factors, or those of the catalogue's practice rows."""

    def of(value: Ratio | None, name: str) -> Ratio:
        return Ratio(practice(name).likely) if value is None else value

    return Wanted(
        of(limits.slip_steady, "slip factor, steady"),
        of(limits.slip_reversing, "slip factor, reversing"),
        of(limits.lift, "lift factor"),
        Ratio(practice("tightening utilisation").likely),
        "limits" if limits.slip_reversing is not None else practice("slip factor, reversing").citation,
    )


def _stack(column: Column, limits: Limits, solids: Solids, points: Points) -> tuple[JointInput, ...]:
    """Column on what is under it, then riser and base down to the pallet, top first."""
    grounds, clamped = grounds_of(column), Clamped.of(column)
    return tuple(
        _joint_of_stack(clamped, limits, solids, points, ground, grounds[k - 1] if k else column)
        for k, ground in enumerate(grounds)
    )


def grounds_of(column: Column) -> tuple[Ground, ...]:
    """What the column stands on from the top down: riser, base, pallet, each with the height of its top."""
    height = column.base_height
    found: list[Ground] = []
    for platform, fastening in (
        (column.riser, column.riser_fastening),
        (column.base, column.base_fastening),
        (column.pallet, None),
    ):
        if platform is None:
            continue
        found.append(Ground(platform, Metre(height), fastening))
        height = Metre(height - (platform.thickness or 0.0))
    return tuple(found)


def _joint_of_stack(
    clamped: Clamped, limits: Limits, solids: Solids, points: Points, ground: Ground, above: Column | Ground
) -> JointInput:
    column, platform, height = clamped.column, ground.platform, ground.top
    top = isinstance(above, Column)
    name = (
        f"column on {platform.name}"
        if isinstance(above, Column)
        else f"{above.platform.name} on {platform.name}"
    )
    fastening = None if isinstance(above, Column) else above.fastening
    studs = _studs_through(column, ground, fastening)
    pins = column.pins if isinstance(above, Column) else (fastening.pins if fastening else ())
    path = column.path if isinstance(above, Column) else above.platform.path
    upper = _column_foot(column) if isinstance(above, Column) else above.platform.material
    stated_friction = (
        column.joint_friction if isinstance(above, Column) else (fastening.friction if fastening else None)
    )
    least, note = friction_of(stated_friction, upper, platform.material, coolant=limits.coolant)
    pieces = column.base_contact if isinstance(above, Column) else _underside(above)
    others = tuple(stud.at for stud in studs)
    fasteners = tuple(fastener_of_stud(clamped, stud, ground, height, others) for stud in studs)
    joint = Joint(
        name=name,
        path=path,
        plane=Plane((0.0, height, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
        pieces=pieces or None,
        pieces_path=f"{path}.contact" if not top else f"{path}.foot",
        fasteners=fasteners,
        fasteners_path=f"{path}.studs",
        dowels=tuple(dowel_of_pin(pin, upper, platform.material) for pin in pins),
        friction=least,
        friction_note=note,
        friction_path=f"{path}.joint_friction" if top else f"{path}.friction",
        contact=_contact(),
        losses=_losses(limits.temperature_change),
        flatness=column.base_flatness if top else None,
        flatness_path=f"{path}.base_flatness",
        dowels_path=f"{path}.pins",
        hole_paths=(
            _strength_key(upper, _foot_key(column) if top else f"{path}.material"),
            _strength_key(platform.material, f"{platform.path}.material"),
        ),
        thin=_thinness(column, studs) if top else None,
    )
    group = _above(column, solids, top=top)
    machine = column.machine
    places = tuple((x, z) for each in points for x, _, z in each)
    return JointInput(
        joint,
        None,
        None if machine is None else moving(machine, group),
        places,
        _least_tolerance(column.stations),
    )


def _above(column: Column, solids: Solids, *, top: bool) -> Group:
    """The masses above a joint of the stack; riser and base count as soon as they stand above it."""
    return solids.dressed if top and (column.riser or column.base) else solids.loaded


def _studs_through(column: Column, ground: Ground, fastening: Fastening | None) -> tuple[Stud, ...]:
    """Studs that clamp the joint on top of `ground`: the column's own that end in or below it, and
    those of the part above.
    """
    own = fastening.studs if fastening is not None else ()
    if ground.top >= column.base_height - 1e-9:
        return column.studs
    return (*own, *(stud for stud in column.studs if stud.bottom < ground.top - 1e-9))


def _column_foot(column: Column) -> Material | None:
    """Material of the column's underside: its base plate, or its walls."""
    for role in (Role.BASE_PLATE, Role.SOLID, Role.PLATE):
        for body in column.bodies:
            if body.role is role and body.material is not None:
                return body.material
    return None


def _underside(ground: Ground) -> tuple[Polygon, ...]:
    if ground.fastening is not None and ground.fastening.contact:
        return ground.fastening.contact
    platform = ground.platform
    if platform.outline is not None:
        return (platform.outline,)
    if platform.radius is not None:
        radius, sides = platform.radius, 48
        return (
            Polygon(
                tuple(
                    (radius * cos(6.283185307179586 * k / sides), radius * sin(6.283185307179586 * k / sides))
                    for k in range(sides)
                )
            ),
        )
    return ()


def friction_of(
    stated: Ratio | None, upper: Material | None, lower: Material | None, *, coolant: bool | None
) -> tuple[Ratio | None, str]:
    """Least friction of a joint: as stated, or the catalogue's likely value with coolant in it.

    Coolant gets into a joint, so it counts as wet unless the shop says that it stays dry.
    """
    if stated is not None:
        return stated, ""
    if upper is None or lower is None:
        return None, ""
    condition = "dry" if coolant is False else "wet"
    try:
        row = friction((_family(upper), _family(lower)), condition)
    except UnknownRow:
        return None, ""
    return row.likely, (
        f"friction {row.likely:g} is taken from the catalogue for {row.name}"
        f" (published from {row.low:g} to {row.high:g}; {row.citation})"
    )


def _family(material: Material) -> str:
    return material_row(material.name).family


@cache
def _contact() -> Span:
    row = contact("machined")
    return Span(Ratio(row.low), Ratio(row.likely), Ratio(row.high))


@cache
def _losses(temperature: KelvinDifference | None) -> Losses:
    row = embedding(FINISH, "transverse")
    depth = Embedding(row.thread, row.bearing, row.interface)
    return Losses(depth, span("fill creep"), temperature, "limits.temperature_change")


def _thinness(column: Column, studs: tuple[Stud, ...]) -> Ratio | None:
    """Reach of a load in the base plate over half the distance between studs; large studs through the
    full height press through the whole body, which is rigid.
    """
    plates = [body for body in column.bodies if body.role is Role.BASE_PLATE]
    if not plates or not studs or any(stud.seat_on not in ("base plate", "cleat") for stud in studs):
        return None
    prism, material = plates[0].adds[0], plates[0].material
    if material is None or material.youngs_modulus is None:
        return None
    reach = plate_wavelength(
        youngs_modulus=material.youngs_modulus,
        thickness=Metre(prism.high - prism.low),
        poissons_ratio=Ratio(material.poissons_ratio or 0.3),
        bed_stiffness=PascalPerMetre(_contact().likely),
    )
    spots = [stud.at for stud in studs]
    apart = [
        ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for i, a in enumerate(spots) for b in spots[i + 1 :]
    ]
    return None if not apart else Ratio(2.0 * reach / (0.5 * max(min(apart), 1e-9)))


def station_points(column: Column, station: Station) -> tuple[Vector, ...]:
    """Places of a station's cuts in the column frame."""
    face = next((each for each in column.faces if each.number == station.face), None)
    if face is None:
        return ()
    found: list[Vector] = []
    for cut in station.cuts:
        given = cut_input(station.name, cut, face, None)
        corners = cut.places or (cut.region.points if cut.region is not None else ())
        found += [given.frame.point(u, v, cut.top) for u, v in corners]
    return tuple(found)


def _least_tolerance(stations: tuple[Station, ...]) -> Metre | None:
    found = [cut.tolerance for station in stations for cut in station.cuts if cut.tolerance is not None]
    return min(found, default=None)


def _fixtures(column: Column, limits: Limits, solids: Solids, points: Points) -> tuple[JointInput, ...]:
    found = []
    for station, corners in zip(column.stations, points, strict=True):
        face = next((each for each in column.faces if each.number == station.face), None)
        if face is None or (not station.screws and not station.cuts):
            continue
        frame = face_frame(Radian(face.angle), face.distance)
        plate = _plate_of(column, station.face)
        upper = _fixture_material(station)
        least, note = friction_of(station.friction, upper, plate, coolant=limits.coolant)
        own = _about_its_origin(replace(station, bodies=(), cuts=()))
        outline = own.footprint
        fasteners, dowels = _fastened(own, under_screws(station, frame), upper, plate)
        joint = Joint(
            name=f"{station.name} on {face.name}",
            path=station.path,
            plane=Plane(frame.point(*station.origin, 0.0), frame.first, frame.third, _minus(frame.second)),
            pieces=None if outline is None else (outline,),
            pieces_path=f"{station.path}.bodies",
            fasteners=fasteners,
            fasteners_path=f"{station.path}.screws",
            dowels=dowels,
            friction=least,
            friction_note=note,
            friction_path=f"{station.path}.friction",
            contact=_contact(),
            losses=_losses(limits.temperature_change),
            flatness=None,
            flatness_path=f"{station.path}.flatness",
            dowels_path=f"{station.path}.dowels",
            hole_paths=(
                _strength_key(upper, f"{station.path}.bodies"),
                _strength_key(plate, f"{column.path}.body.material"),
            ),
        )
        machine = column.machine
        places = tuple(_in_plane(joint.plane, point) for point in corners)
        found.append(
            JointInput(
                joint,
                station.name,
                None if machine is None else moving(machine, _hung(solids, station)),
                places,
                _least_tolerance((station,)),
            )
        )
    return tuple(found)


@lru_cache(maxsize=64)
def _fastened(
    own: Station, under: tuple[Under, ...], upper: Material | None, plate: Material | None
) -> tuple[tuple[Fastener, ...], tuple[Dowel, ...]]:
    """Screws and dowels of a station about its own origin: most stay as they are from edit to edit."""
    return (
        tuple(fastener_of_screw(own, k, plate, each) for k, each in enumerate(under)),
        tuple(dowel_of_station(own, k, upper, plate) for k in range(len(own.dowels))),
    )


def _hung(solids: Solids, station: Station) -> Group:
    """The masses of one station: fixture, part and clamps."""
    return group(
        f"station {station.name}",
        (piece for piece in solids.carried if piece.body.station == station.name),
    )


def _plate_of(column: Column, face: int) -> Material | None:
    """Material behind a face: its own plate, or the one casting or solid that has all faces."""
    for body in column.bodies:
        if body.role is Role.PLATE and body.face in (face, None):
            return body.material
    return next((body.material for body in column.bodies if body.role is Role.SOLID), None)


def _foot_key(column: Column) -> str:
    """Key path that states what the column's foot is of."""
    plates = any(body.role is Role.BASE_PLATE for body in column.bodies)
    return f"{column.path}.{'base_plate' if plates else 'body'}.material"


def _strength_key(material: Material | None, path: str) -> str:
    """Key path of a material's strength; `path`, where none is named."""
    return path if material is None or not material.path else f"{material.path}.yield_strength"


def _fixture_material(station: Station) -> Material | None:
    return next((body.material for body in station.bodies if body.role is Role.FIXTURE), None)


@lru_cache(maxsize=64)
def _about_its_origin(station: Station) -> Station:
    """A station with foot, screws and dowels in (x, z) of its joint's plane: about its own origin, z down
    the face. Wherever it hangs, an unchanged fixture is the same to the last bit.
    """
    u0, v0 = station.origin

    def placed(at: Point2) -> Point2:
        return round(at[0] - u0, _DIGITS) + 0.0, round(v0 - at[1], _DIGITS) + 0.0

    foot = station.footprint
    return replace(
        station,
        origin=(0.0, 0.0),
        footprint=None if foot is None else Polygon(tuple(placed(point) for point in foot.points)),
        screws=tuple(replace(screw, at=placed(screw.at)) for screw in station.screws),
        dowels=tuple(replace(dowel, at=placed(dowel.at)) for dowel in station.dowels),
    )


def _minus(vector: Vector) -> Vector:
    return (-vector[0], -vector[1], -vector[2])


def _in_plane(plane: Plane, point: Vector) -> Point2:
    a, b, c = (there - here for there, here in zip(point, plane.origin, strict=True))
    x = a * plane.x[0] + b * plane.x[1] + c * plane.x[2]
    z = a * plane.z[0] + b * plane.z[1] + c * plane.z[2]
    return round(x, _DIGITS) + 0.0, round(z, _DIGITS) + 0.0
