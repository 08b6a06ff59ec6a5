"""From a stud or a fixture's screw in the model to a fastener with catalogue sizes and strengths."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import pi
from typing import NamedTuple

from orthostat.analyses.hold.fastener import Fastener, Layer, Thread
from orthostat.analyses.hold.stack import (
    Upright,
    bonded_expansions,
    contains,
    layers_of,
    room_about,
    upright_of,
)
from orthostat.base.dimensions import Metre, Pascal, PerKelvin, Ratio, SquareMetre
from orthostat.base.frames import Frame
from orthostat.catalogue import (
    TighteningMethod,
    UnknownRow,
    head,
    material,
    property_class,
    thread,
    tightening_method,
)
from orthostat.catalogue.practice import practice
from orthostat.model.bodies import Point2, Polygon, Role
from orthostat.model.column import Column, Fastening, Stud
from orthostat.model.machine import Platform
from orthostat.model.materials import Material
from orthostat.model.stations import Station

STUD_STEEL = "steel C45"
"""Elastic constants of a stud whose material is not stated: a strength class is one of steel."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A platform something stands on, the height of its top [m] and how it is itself held."""

    platform: Platform
    top: Metre
    fastening: Fastening | None


@dataclass(frozen=True, slots=True)
class Strength:
    """Yield, proof and shear strength of a class at a size, or what is wrong with it."""

    yield_strength: Pascal | None = None
    proof: Pascal | None = None
    shear: Pascal | None = None
    fault: str = ""


@cache
def thread_of(name: str) -> tuple[Thread | None, str]:
    """Sizes of a thread, or what is wrong with its name."""
    try:
        row = thread(name)
    except UnknownRow as unknown:
        return None, str(unknown)
    root = 0.25 * pi * row.external_minor_diameter**2
    return (
        Thread(
            row.name,
            row.nominal,
            row.pitch,
            row.pitch_diameter,
            row.internal_minor_diameter,
            SquareMetre(root),
            row.stress_area,
        ),
        "",
    )


@cache
def strength_of(grade: str | None, diameter: Metre | None) -> Strength:
    """Strength of a class or grade at a nominal diameter."""
    if grade is None or diameter is None:
        return Strength()
    try:
        row = property_class(grade)
    except UnknownRow as unknown:
        return Strength(fault=str(unknown))
    band = row.band(diameter)
    if band is None:
        return Strength(fault=f"{row.name} is not made in {diameter * 1e3:g} mm")
    shear = Pascal(band.tensile_strength * practice("pin shear strength over tensile strength").low)
    return Strength(band.yield_strength, band.proof, shear)


def scatter_of(method: str | None) -> Ratio | None:
    """Tightening factor of a method by name, the likely one of its range."""
    row = _method(method)
    return None if row is None else row.scatter


def _twisted(method: str | None) -> bool:
    """Whether tightening twists the stud, as all but pulling it does."""
    row = _method(method)
    return row is None or row.twists


def _method(name: str | None) -> TighteningMethod | None:
    if name is None:
        return None
    try:
        return tightening_method(name)
    except UnknownRow:
        return None


@cache
def _bearing(name: str, *, socket: bool) -> Metre | None:
    try:
        row = head(name)
    except UnknownRow:
        return None
    if socket:
        return row.socket_head_diameter
    if row.bearing_diameter is not None:
        return row.bearing_diameter
    return Metre(row.across_flats * practice("washer face over width across flats").low)


@cache
def _clearance(name: str) -> Metre | None:
    try:
        return thread(name).clearance_normal
    except UnknownRow:
        return None


def shear_of(stated: Material | None) -> Pascal | None:
    """Shear strength of a material, or the least share of its tensile strength."""
    if stated is None:
        return None
    if stated.shear_strength is not None:
        return stated.shear_strength
    if stated.tensile_strength is None:
        return None
    return Pascal(stated.tensile_strength * practice("pin shear strength over tensile strength").low)


@dataclass(frozen=True, slots=True, eq=False)
class Clamped:
    """A column with what its studs clamp, and how its fill may grow where plates are bonded to it."""

    column: Column
    upright: tuple[Upright, ...]
    bonded: tuple[PerKelvin, ...]

    @classmethod
    def of(cls, column: Column) -> Clamped:
        own = upright_of(column.bodies)
        middle = 0.5 * (column.base_height + column.height)
        return cls(column, (*own, *upright_of(column.platforms)), bonded_expansions(own, middle))


def fastener_of_stud(
    clamped: Clamped, stud: Stud, joint_ground: Ground, height: Metre, others: tuple[Point2, ...]
) -> Fastener:
    """A stud of the stack. What it screws into is the platform that its lower end is in."""
    column = clamped.column
    ground = foot_of(column, stud, joint_ground)
    sizes, thread_fault = thread_of(stud.thread)
    strength = strength_of(stud.grade, None if sizes is None else sizes.nominal)
    steel = stud.material or material(STUD_STEEL)
    depth = ground.top - stud.bottom
    said = stud.engagement is not None or stud.bottom < ground.top
    engaged = depth if stud.engagement is None else min(stud.engagement, depth)
    washer = stud.washer_thickness or 0.0
    begins = stud.bottom + max(0.0, engaged)
    hole = stud.hole_diameter or _clearance(stud.thread)
    taken = max(hole or 0.0, stud.sleeve_outside or 0.0)
    layers: tuple[Layer, ...] = ()
    if taken > 0.0 and stud.seat > ground.top:
        layers = layers_of(
            clamped.upright,
            stud.at,
            radius=Metre(0.5 * taken * 1.15),
            low=ground.top,
            high=stud.seat,
            studs=len(others),
        )
    under = layers[0] if layers else None
    seat = _seat_material(column, under)
    mating = ground.platform.material
    return Fastener(
        name=stud.name,
        path=stud.path,
        at=stud.at,
        thread=sizes,
        grade=stud.grade,
        yield_strength=strength.yield_strength,
        proof_stress=strength.proof,
        engaged=Metre(engaged) if said else None,
        free_length=Metre(stud.seat + washer - begins),
        modulus=steel.youngs_modulus,
        shear_modulus=_shear_modulus(steel),
        expansion=steel.expansion,
        torque=stud.torque,
        preload=stud.preload,
        thread_friction=stud.thread_friction,
        head_friction=stud.head_friction,
        nut_factor=stud.nut_factor,
        scatter=stud.scatter or scatter_of(stud.tightening),
        twisted=_twisted(stud.tightening),
        bearing_outside=_bearing(stud.thread, socket=False),
        washer_outside=stud.washer_outside,
        washer_thickness=stud.washer_thickness,
        hole=hole,
        layers=layers or None,
        available_diameter=room_about(column.outline, stud.at, others)
        if stud.seat_on == "top"
        else room_about(_widest(column), stud.at, others),
        seat_limit=None if seat is None else seat.bearing_limit,
        seat_path=_seat_key(stud, under, seat),
        mating_modulus=None if mating is None else mating.youngs_modulus,
        mating_shear=shear_of(mating),
        mating_path=f"{ground.platform.path}.material",
        stud_shear=strength.shear,
        nut=True,
        interfaces=1 + _faces_between(column, ground, height),
        bonded_expansions=clamped.bonded,
        grade_fault=strength.fault,
        thread_fault=thread_fault,
    )


def foot_of(column: Column, stud: Stud, above: Ground) -> Ground:
    """The platform that a stud's lower end is in, or the one the joint stands on when it reaches none."""
    height = column.base_height
    for platform, fastening in (
        (column.riser, column.riser_fastening),
        (column.base, column.base_fastening),
        (column.pallet, None),
    ):
        if platform is None:
            continue
        bottom = height - (platform.thickness or float("inf"))
        if bottom - 1e-9 <= stud.bottom < height:
            return Ground(platform, Metre(height), fastening)
        height = Metre(bottom)
    return above


def _faces_between(column: Column, ground: Ground, height: Metre) -> int:
    """Joint faces a stud closes below the one it is asked about."""
    return sum(
        1
        for platform in (column.riser, column.base)
        if platform is not None and ground.platform is not platform and ground.top < height
    )


def _widest(column: Column) -> Polygon:
    """Plan of the base plate, where studs stand on it."""
    for body in column.bodies:
        if body.role is Role.BASE_PLATE and isinstance(body.adds[0].section, Polygon):
            return body.adds[0].section
    return column.outline


def _seat_material(column: Column, under: Layer | None) -> Material | None:
    if under is None:
        return None
    return next(
        (
            body.material
            for body in (*column.bodies, *column.platforms)
            if body.role.value == under.name and body.material is not None
        ),
        None,
    )


def _shear_modulus(steel: Material) -> Pascal | None:
    if steel.youngs_modulus is None or steel.poissons_ratio is None:
        return None
    return Pascal(steel.youngs_modulus / (2.0 * (1.0 + steel.poissons_ratio)))


class Under(NamedTuple):
    """What the head of a fixture's screw bears on: thickness, material, and the key path of the material or
    of the key that would name it.
    """

    grip: Metre | None
    material: Material | None
    path: str


def fastener_of_screw(station: Station, number: int, plate: Material | None, under: Under) -> Fastener:
    """A fixture's socket-head screw into the face, of a station whose places are those of the joint's
    plane.
    """
    grip, part, part_path = under
    screw = station.screws[number]
    outline = station.footprint
    path = screw.path or f"{station.path}.screws[{number}]"
    sizes, thread_fault = thread_of(screw.thread)
    strength = strength_of(screw.grade, None if sizes is None else sizes.nominal)
    steel = material(STUD_STEEL)
    hole = screw.hole or _clearance(screw.thread)
    layers = None
    if grip is not None:
        layers = (
            Layer(
                "fixture",
                grip,
                None if part is None else part.youngs_modulus,
                None if part is None else part.expansion,
                path=part_path,
            ),
        )
    others = tuple(each.at for each in station.screws)
    return Fastener(
        name=f"screw {number + 1}",
        path=path,
        at=screw.at,
        thread=sizes,
        grade=screw.grade,
        yield_strength=strength.yield_strength,
        proof_stress=strength.proof,
        engaged=screw.engagement,
        free_length=grip,
        modulus=steel.youngs_modulus,
        shear_modulus=_shear_modulus(steel),
        expansion=steel.expansion,
        torque=screw.torque,
        preload=screw.preload,
        thread_friction=screw.friction,
        head_friction=screw.friction,
        nut_factor=None,
        scatter=screw.scatter or scatter_of(screw.tightening),
        twisted=_twisted(screw.tightening),
        bearing_outside=_bearing(screw.thread, socket=True),
        washer_outside=None,
        washer_thickness=None,
        hole=hole,
        layers=layers,
        available_diameter=None if outline is None else room_about(outline, screw.at, others),
        seat_limit=None if part is None else part.bearing_limit,
        seat_path=f"{part_path}.bearing_limit" if part_path.startswith("materials.") else part_path,
        mating_modulus=None if plate is None else plate.youngs_modulus,
        mating_shear=shear_of(plate),
        mating_path=f"{station.path.rpartition('.')[0]}.body.material"
        if plate is None or not plate.path
        else plate.path,
        stud_shear=strength.shear,
        nut=False,
        grade_fault=strength.fault,
        thread_fault=thread_fault,
    )


def _seat_key(stud: Stud, under: Layer | None, seat: Material | None) -> str:
    """Key path that would state what pressure the seat bears."""
    if under is None:
        return f"{stud.path}.seat"
    return under.key("bearing_limit") if seat is None or not seat.path else f"{seat.path}.bearing_limit"


def _fixture_material(station: Station) -> str:
    """Key path of the material that the screws bear on, or of the key that would name it."""
    fixture = next((body for body in station.bodies if body.role is Role.FIXTURE), None)
    if fixture is None:
        return f"{station.path}.bodies"
    return fixture.material.path if fixture.material is not None else fixture.material_key


def under_screws(station: Station, frame: Frame) -> tuple[Under, ...]:
    """What each screw of a station bears on, where the fixture stands on the face of `frame`."""
    fixtures = [body for body in station.bodies if body.role is Role.FIXTURE]
    standing = [
        (prism, body)
        for body in fixtures
        for prism in body.adds
        if abs(prism.low) < 1e-6 and prism.frame == frame
    ]
    path = _fixture_material(station)
    found = []
    for screw in station.screws:
        prism, body = next(
            (each for each in standing if contains(each[0].section, screw.at)),
            (None, fixtures[0] if fixtures else None),
        )
        grip = screw.grip or (None if prism is None else prism.high)
        found.append(Under(grip, None if body is None else body.material, path))
    return tuple(found)
