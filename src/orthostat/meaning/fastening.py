"""Studs in their sleeves, nuts and washers, pins, cleats: what holds the column and where it stands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, pi, sin

from orthostat import catalogue
from orthostat.base.dimensions import Metre, Radian
from orthostat.document import column as documents
from orthostat.document import fastening as fasteners
from orthostat.document.quantities import Typed
from orthostat.document.reading import KeyPath
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names
from orthostat.meaning.plan import turned_about
from orthostat.meaning.structure import Fitted, Structure
from orthostat.meaning.values import places, si
from orthostat.meaning.walls import contains
from orthostat.model.bodies import Body, Disc, Face, Point2, Polygon, Prism, Role
from orthostat.model.column import Fastening, Pin, Stud
from orthostat.model.materials import Material

_THROUGH_BUT_FILL = (Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.LID, Role.CLEAT)
_OVER_PINS = (Role.PLATE, Role.SOLID, Role.BASE_PLATE, Role.FILL, Role.CLEAT)


@dataclass(frozen=True, slots=True)
class Cleat:
    """A cleat's plan (own plan of the column) and top."""

    outline: Polygon
    top: float


@kept(16)
def with_cleats(
    stated: tuple[documents.Cleats, ...],
    structure: Structure,
    own_faces: tuple[Face, ...],
    v_shift: float,
    names: Names,
) -> tuple[Structure, tuple[Cleat, ...]]:
    """The structure with its cleats; their plans for the studs that bear on them."""
    if not stated:
        return structure, ()
    made: list[Cleat] = []
    bodies: list[Body] = []
    for index, cleat in enumerate(stated):
        path: KeyPath = ("cleats", index)
        spots = places(cleat) or ((0.0, structure.heights.foot - v_shift),)
        material = names.material(cleat.material, (*path, "material"))
        for own in names.faces(cleat.faces, own_faces, (*path, "faces")):
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
                bodies.append(
                    Body(
                        f"cleat {len(made)}",
                        Role.CLEAT,
                        (Prism(outline, Metre(low), Metre(high)),),
                        material=material,
                        face=own.number,
                        path=names.at("cleats", index),
                    )
                )
    return replace(structure, bodies=(*structure.bodies, *bodies)), tuple(made)


@dataclass(frozen=True, slots=True)
class Standing:
    """Where studs stand and bear: the structure in its own plan, and how it is turned and set down."""

    structure: Structure
    cleats: tuple[Cleat, ...]
    base_plate_top: float | None
    engaged_at: float
    """Top of what the studs are screwed into."""
    turn: float
    shift: Point2


@kept(16)
def studs_of(
    groups: tuple[fasteners.Studs, ...], height: Typed, standing: Standing, names: Names
) -> Fitted[Stud]:
    """Studs, their bodies (stud, washer, nut, sleeve) and the holes they cut, set down."""
    studs: list[Stud] = []
    bodies: list[Body] = []
    cuts: list[tuple[int, Prism]] = []
    structure = standing.structure
    heights = structure.heights
    cavity = None if structure.cavity is None else (heights.cavity_bottom, heights.cavity_top)
    for index, group in enumerate(groups):
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
            seat = _seat(group.seat, at, height, standing, path, names)
            if thread is None or seat is None:
                continue
            name = f"{group.name or 'stud'} {len(studs) + 1}"
            laid = _laid(name, group, path, at, seat, standing.engaged_at, heights.foot, cavity, names)
            studs.append(laid.stud)
            bodies += laid.bodies
            cuts += structure.cuts(laid.hole, _THROUGH_BUT_FILL)
            cuts += structure.cuts(laid.hole_in_fill, (Role.FILL,))
    turn, shift = standing.turn, standing.shift
    placed = tuple(replace(stud, at=turned_about(stud.at, turn, shift)) for stud in studs)
    return Fitted(placed, tuple(bodies), tuple(cuts)).set_down(turn, shift)


def _seat(
    seat: str | Typed, at: Point2, height: Typed, standing: Standing, path: KeyPath, names: Names
) -> Metre | None:
    heights = standing.structure.heights
    if isinstance(seat, Typed):
        if heights.foot + seat.si > heights.top + 1e-9:
            read, allowed = f"`{seat.text}`", f"up to height = `{height.text}`"
            names.faults.add((*path, "seat"), "is above the column's top", read, allowed)
        return Metre(heights.foot + seat.si)
    if seat == "top":
        return Metre(heights.top)
    if seat == "base plate":
        if standing.base_plate_top is None:
            names.faults.add((*path, "seat"), "there is no base plate to bear on", "`base plate`")
            return None
        return Metre(standing.base_plate_top)
    under = [cleat.top for cleat in standing.cleats if contains(cleat.outline.points, at)]
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


@kept(64)
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


@dataclass(frozen=True, slots=True)
class _Laid:
    """One stud with its bodies and its holes, in the own plan."""

    stud: Stud
    bodies: tuple[Body, ...]
    hole: Prism
    hole_in_fill: Prism


@kept(512)
def _laid(
    name: str,
    group: fasteners.Studs,
    path: KeyPath,
    at: Point2,
    seat: Metre,
    engaged_at: float,
    foot: float,
    cavity: tuple[float, float] | None,
    names: Names,
) -> _Laid:
    thread = names.thread(group.thread, (*path, "thread"))
    stud = _stud(name, group, at, seat, engaged_at, thread, path, names)
    sleeve = stud.sleeve_outside if cavity is not None else None
    hole = 0.5 * (stud.hole_diameter or thread.nominal)
    return _Laid(
        stud,
        tuple(_stud_bodies(stud, thread, cavity)),
        _disc(at, hole, foot, stud.seat),
        _disc(at, 0.5 * sleeve if sleeve else hole, foot, stud.seat),
    )


def _stud_bodies(stud: Stud, thread: catalogue.Thread, cavity: tuple[float, float] | None) -> list[Body]:
    """The stud, washer, nut and sleeve."""
    at, radius = stud.at, 0.5 * thread.nominal
    head = catalogue.head(thread.name)
    sleeve = stud.sleeve_outside
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
    if cavity is not None and sleeve and stud.sleeve_inside is not None:
        bottom, top = cavity[0], min(cavity[1], float(stud.seat))
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


@kept(16)
def pins_of(
    groups: tuple[fasteners.Pins, ...], structure: Structure, turn: float, shift: Point2, names: Names
) -> Fitted[Pin]:
    """Pins and keys with the bores they cut in the column, set down."""
    pins: list[Pin] = []
    bodies: list[Body] = []
    cuts: list[tuple[int, Prism]] = []
    foot = structure.heights.foot
    for index, group in enumerate(groups):
        path: KeyPath = ("pins", index)
        for at in _pin_places(group, path, names):
            name = f"{group.name or ('key' if group.kind == 'key' else 'pin')} {len(pins) + 1}"
            pin = _pin(group, at, name, turn, path, names)
            pins.append(replace(pin, at=turned_about(at, turn, shift)))
            low, high = foot - (pin.length_below or 0.0), foot + (pin.length_above or 0.0)
            body = _disc(at, 0.5 * pin.diameter, low, high)
            if body.high > body.low:
                cuts += structure.cuts(body, _OVER_PINS)
                bodies.append(Body(name, Role.PIN, (body,), material=pin.material, path=pin.path))
    return Fitted(tuple(pins), tuple(bodies), tuple(cuts)).set_down(turn, shift)


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


@kept(256)
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
