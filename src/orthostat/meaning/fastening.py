"""Studs in their sleeves, nuts and washers, pins, cleats: what holds the column and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

from orthostat import catalogue
from orthostat.base.dimensions import Metre, Radian
from orthostat.document import column as documents
from orthostat.document import fastening as fasteners
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath
from orthostat.meaning.names import Names
from orthostat.meaning.structure import Structure
from orthostat.meaning.values import places, si
from orthostat.model.bodies import Body, Disc, Face, Point2, Polygon, Prism, Role
from orthostat.model.column import Fastening, Pin, Stud
from orthostat.model.materials import Material

_THROUGH = (Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.LID, Role.FILL, Role.CLEAT)


@dataclass(frozen=True, slots=True)
class Cleat:
    """A cleat's plan (own plan of the column) and top."""

    outline: Polygon
    top: float


def cleats_of(
    column: documents.Column,
    structure: Structure,
    own_faces: tuple[Face, ...],
    v_shift: float,
    names: Names,
    chosen: object,
) -> list[Cleat]:
    """Cleats as bodies of the structure; returns their plans for the studs that bear on them."""
    made: list[Cleat] = []
    for index, cleat in enumerate(column.cleats):
        path: KeyPath = ("cleats", index)
        spots = places(cleat) or ((0.0, structure.heights.foot - v_shift),)
        material = names.material(cleat.material, (*path, "material"))
        for face in chosen(cleat.faces, (*path, "faces")):  # type: ignore[operator]  # Stage.chosen, typed loosely
            own = own_faces[face.number - 1]
            for u, v in spots:
                half = 0.5 * cleat.width.si
                across = (
                    (u - half, own.distance),
                    (u + half, own.distance),
                    (u + half, own.distance + cleat.out.si),
                    (u - half, own.distance + cleat.out.si),
                )
                s, c = sin(own.angle), cos(own.angle)
                outline = Polygon(tuple((a * c + w * s, w * c - a * s) for a, w in across))
                low, high = v + v_shift, v + v_shift + cleat.height.si
                made.append(Cleat(outline, high))
                structure.bodies.append(
                    Body(
                        f"cleat {len(made)}",
                        Role.CLEAT,
                        (Prism(outline, Metre(low), Metre(high)),),
                        material=material,
                        face=face.number,
                        path=names.at("cleats", index),
                    )
                )
    return made


def studs_of(
    column: documents.Column, structure: Structure, cleats: list[Cleat], engaged_at: float, names: Names
) -> tuple[tuple[Stud, ...], list[Body]]:
    """Studs in the own plan, the holes they cut, and their bodies (stud, washer, nut, sleeve)."""
    studs: list[Stud] = []
    bodies: list[Body] = []
    for index, group in enumerate(column.studs):
        path: KeyPath = ("studs", index)
        thread = names.thread(group.thread, (*path, "thread"))
        names.grade(group.grade, (*path, "grade"))
        names.known_method(group.tightening, (*path, "tightening"))
        if group.torque is not None and group.preload is not None:
            names.faults.add(path, "gives both torque and preload; keep one")
        for ring in ("sleeve", "washer"):
            tube = getattr(group, ring)
            if tube is not None and tube.inside is not None and tube.inside.si >= tube.outside.si:
                allowed = f"less than outside = `{tube.outside.text}`"
                names.faults.add((*path, ring, "inside"), "is no smaller", f"`{tube.inside.text}`", allowed)
        spots = places(group)
        if not spots:
            names.faults.add(path, "is nowhere; give at, grid or circle")
        for at in spots:
            seat = _seat(group.seat, at, column, structure, cleats, path, names)
            if thread is None or seat is None:
                continue
            name = f"{group.name or 'stud'} {len(studs) + 1}"
            stud = _stud(name, group, at, seat, engaged_at, thread, path, names)
            studs.append(stud)
            bodies += _stud_bodies(stud, thread, structure)
    return tuple(studs), bodies


def _seat(
    seat: str | Typed,
    at: Point2,
    column: documents.Column,
    structure: Structure,
    cleats: list[Cleat],
    path: KeyPath,
    names: Names,
) -> Metre | None:
    heights = structure.heights
    if isinstance(seat, Typed):
        if heights.foot + seat.si > heights.top + 1e-9:
            read, allowed = f"`{seat.text}`", f"up to height = `{column.height.text}`"
            names.faults.add((*path, "seat"), "is above the column's top", read, allowed)
        return Metre(heights.foot + seat.si)
    if seat == "top":
        return Metre(heights.top)
    if seat == "base plate":
        if column.base_plate is None:
            names.faults.add((*path, "seat"), "there is no base plate to bear on", "`base plate`")
            return None
        return Metre(heights.foot + column.base_plate.thickness.si)
    from orthostat.meaning.walls import contains

    under = [cleat.top for cleat in cleats if contains(cleat.outline.points, at)]
    if not under:
        names.faults.add(
            (*path, "seat"),
            "no cleat stands under this place",
            f"({at[0] * 1e3 + 0.0:.1f} mm, {at[1] * 1e3 + 0.0:.1f} mm)",
        )
        return None
    return Metre(max(under))


def _stud(
    name: str,
    group: fasteners.Studs,
    at: Point2,
    seat: Metre,
    engaged_at: float,
    thread: catalogue.Thread,
    path: KeyPath,
    names: Names,
) -> Stud:
    sleeve, washer = group.sleeve, group.washer
    hole = group.hole.si if group.hole else thread.clearance_normal
    return Stud(
        name=name,
        path=names.at(*path),
        at=at,
        thread=group.thread,
        grade=group.grade,
        bottom=Metre(engaged_at - (si(group.engagement) or 0.0)),
        seat=seat,
        seat_on=group.seat if isinstance(group.seat, str) else "height",
        engagement=si(group.engagement),
        hole_diameter=hole,
        sleeve_outside=sleeve.outside.si if sleeve else None,
        sleeve_inside=sleeve.inside.si if sleeve else None,
        sleeve_material=names.material(sleeve.material, (*path, "sleeve", "material")) if sleeve else None,
        washer_outside=washer.outside.si if washer else None,
        washer_inside=(si(washer.inside) or hole) if washer else None,
        washer_thickness=washer.thickness.si if washer else None,
        washer_material=names.material(washer.material, (*path, "washer", "material")) if washer else None,
        torque=si(group.torque),
        preload=si(group.preload),
        thread_friction=si(group.thread_friction),
        head_friction=si(group.head_friction),
        nut_factor=si(group.nut_factor),
        tightening=group.tightening,
        scatter=si(group.scatter),
        material=_stud_material(group, path, names),
    )


def fastening_of(
    stated: fasteners.Raised, low: float, high: float, path: KeyPath, names: Names
) -> Fastening | None:
    """What holds a base or riser that stands from `low` to `high` [m] on what is under it."""
    if not (stated.studs or stated.pins or stated.friction):
        return None
    studs: list[Stud] = []
    for index, group in enumerate(stated.studs):
        where = (*path, "studs", index)
        thread = names.thread(group.thread, (*where, "thread"))
        names.grade(group.grade, (*where, "grade"))
        names.known_method(group.tightening, (*where, "tightening"))
        if not isinstance(group.seat, Typed) and group.seat != "top":
            names.faults.add(
                (*where, "seat"), "of a platform is its top or a height over its underside", f"`{group.seat}`"
            )
        seat = low + group.seat.si if isinstance(group.seat, Typed) else high
        if thread is not None:
            studs += [
                _stud(
                    f"{group.name or 'stud'} {len(studs) + n}",
                    group,
                    at,
                    Metre(seat),
                    low,
                    thread,
                    where,
                    names,
                )
                for n, at in enumerate(places(group), 1)
            ]
    pins = [
        _pin(group, at, f"{group.name or 'pin'} {number}", 0.0, (*path, "pins", index), names)
        for index, group in enumerate(stated.pins)
        for number, at in enumerate(_pin_places(group, (*path, "pins", index), names), 1)
    ]
    return Fastening(names.at(*path), tuple(studs), tuple(pins), (), si(stated.friction))


def _stud_material(group: fasteners.Studs, path: KeyPath, names: Names) -> Material | None:
    """As stated; else what the grade's standard makes it of (ISO 898-1, SAE J429, ASTM A193 steel,
    ISO 3506-1 stainless steel); `None` when neither is stated.
    """
    if group.material is not None or group.grade is None:
        return names.material(group.material, (*path, "material"))
    stainless = group.grade.strip().upper().startswith(("A2", "A4"))
    return catalogue.material("stainless steel" if stainless else "steel")


def _stud_bodies(stud: Stud, thread: catalogue.Thread, structure: Structure) -> list[Body]:
    """The stud, washer, nut and sleeve; cuts its holes in what it passes through."""
    at, radius = stud.at, 0.5 * thread.nominal
    head = catalogue.head(thread.name)
    heights = structure.heights
    sleeve = stud.sleeve_outside if structure.cavity is not None else None
    hole = 0.5 * (stud.hole_diameter or thread.nominal)
    low = heights.foot
    structure.cut(_disc(at, hole, low, stud.seat), (role for role in _THROUGH if role is not Role.FILL))
    structure.cut(_disc(at, 0.5 * sleeve if sleeve else hole, low, stud.seat), (Role.FILL,))
    washer = stud.washer_thickness or 0.0
    nut = float(head.nut_height)
    made = [
        Body(
            stud.name,
            Role.STUD,
            (_disc(at, radius, float(stud.bottom), stud.seat + washer + nut + 2.0 * thread.pitch),),
            material=stud.material,
            path=stud.path,
        ),
        Body(
            f"nut of {stud.name}",
            Role.NUT,
            (
                Prism(
                    _hexagon(at, head.across_flats),
                    Metre(stud.seat + washer),
                    Metre(stud.seat + washer + nut),
                ),
            ),
            (_disc(at, radius, stud.seat + washer, stud.seat + washer + nut),),
            stud.material,
            path=stud.path,
        ),
    ]
    if washer and stud.washer_outside is not None:
        inside = 0.5 * (stud.washer_inside or thread.nominal)
        made.append(
            Body(
                f"washer of {stud.name}",
                Role.WASHER,
                (_disc(at, 0.5 * stud.washer_outside, stud.seat, stud.seat + washer),),
                (_disc(at, inside, stud.seat, stud.seat + washer),),
                stud.washer_material,
                path=f"{stud.path}.washer",
            )
        )
    if sleeve and stud.sleeve_inside is not None:
        bottom, top = heights.cavity_bottom, min(heights.cavity_top, float(stud.seat))
        made.append(
            Body(
                f"sleeve of {stud.name}",
                Role.SLEEVE,
                (_disc(at, 0.5 * sleeve, bottom, top),),
                (_disc(at, 0.5 * stud.sleeve_inside, bottom, top),),
                stud.sleeve_material,
                path=f"{stud.path}.sleeve",
            )
        )
    return made


def pins_of(
    column: documents.Column, structure: Structure, turn: float, names: Names
) -> tuple[tuple[Pin, ...], list[Body]]:
    """Pins and keys in the own plan, with the bores they cut in the column."""
    pins: list[Pin] = []
    bodies: list[Body] = []
    foot = structure.heights.foot
    for index, group in enumerate(column.pins):
        path: KeyPath = ("pins", index)
        for at in _pin_places(group, path, names):
            name = f"{group.name or ('key' if group.kind == 'key' else 'pin')} {len(pins) + 1}"
            pin = _pin(group, at, name, turn, path, names)
            pins.append(pin)
            low, high = foot - (pin.length_below or 0.0), foot + (pin.length_above or 0.0)
            body = _disc(at, 0.5 * pin.diameter, low, high)
            if body.high > body.low:
                structure.cut(body, (Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.FILL, Role.CLEAT))
                bodies.append(Body(name, Role.PIN, (body,), material=pin.material, path=pin.path))
    return tuple(pins), bodies


def _pin_places(group: fasteners.Pins, path: KeyPath, names: Names) -> tuple[Point2, ...]:
    """Where pins stand; faults of the group are noted."""
    if group.kind != "round" and group.direction is None:
        words = "a key" if group.kind == "key" else "a relieved pin"
        names.faults.add((*path, "direction"), f"is missing; {words} locates in one direction")
    if group.kind == "round" and group.direction is not None:
        names.faults.add((*path, "direction"), "does not belong to a round pin")
    for key in ("fit_below", "fit_above"):
        names.known_fit(getattr(group, key), group.diameter.si, (*path, key))
    spots = places(group)
    if not spots:
        names.faults.add(path, "is nowhere; give at, grid or circle")
    return spots


def _pin(group: fasteners.Pins, at: Point2, name: str, turn: float, path: KeyPath, names: Names) -> Pin:
    # A plan direction from +x toward +z turns back by the column's turn (0 along +Z toward +X).
    direction = None if group.direction is None else Radian(group.direction.si - turn)
    material = names.material(group.material, (*path, "material"))
    return Pin(
        name,
        names.at(*path),
        at,
        group.diameter.si,
        group.kind,
        direction,
        group.fit_below,
        group.fit_above,
        si(group.length_below),
        si(group.length_above),
        None,
        None,
        names.dowel_shear(group.shear_strength, material, group.diameter.si),
        material,
    )


def _disc(at: Point2, radius: float, low: float, high: float) -> Prism:
    return Prism(Disc(at, Metre(radius)), Metre(low), Metre(high))


def _hexagon(at: Point2, across_flats: float) -> Polygon:
    radius = across_flats / (2.0 * cos(pi / 6.0))
    return Polygon(
        tuple((at[0] + radius * cos(pi / 3.0 * k), at[1] + radius * sin(pi / 3.0 * k)) for k in range(6))
    )
