"""What the cost of one column is worked out from."""

from __future__ import annotations

from dataclasses import dataclass

from orthostat.analyses.pieces import Part, Pieces
from orthostat.analyses.solids import Solids
from orthostat.base.dimensions import Kilogram, Metre
from orthostat.model.bodies import Role
from orthostat.model.buying import Buying
from orthostat.model.column import Column, Pin, Stud
from orthostat.model.joining import Joint
from orthostat.model.prices import Price


@dataclass(frozen=True, slots=True)
class Bagged:
    """Resin or aggregate in whole kits or bags: low, likely and high count to buy."""

    name: str
    path: str
    unit: str
    unit_mass: Kilogram
    low: int
    likely: int
    high: int
    left: Kilogram
    """What is left over of the likely count."""
    price: Price | None


@dataclass(frozen=True, slots=True)
class FastenerNeed:
    """Studs, nuts, washers, pins, inserts or screws of one kind."""

    what: str
    thread: str | None
    grade: str | None
    diameter: Metre
    length: Metre | None
    count: int
    path: str


@dataclass(frozen=True, slots=True)
class Inputs:
    """Pieces with their masses, the fill, fasteners, faces to true, and the shop's money."""

    pieces: Pieces
    masses: tuple[tuple[int, Kilogram | None, str], ...]
    """(number of the part, mass of one, key path that would give it)."""
    fill_mass: Kilogram | None
    """`None` where there is no fill or its density is not known."""
    has_fill: bool
    fill_missing: str
    fasteners: tuple[FastenerNeed, ...]
    bagged: tuple[Bagged, ...]
    bagged_missing: tuple[str, ...]
    """What keeps the kits and bags from being known."""
    joints: tuple[Joint, ...]
    faces: int
    trued: bool
    buying: Buying
    draws: int = 10_000
    seed: int = 20_261_124

    def mass(self, part: Part) -> tuple[Kilogram | None, str]:
        """Mass of one piece, and the key path that would give it."""
        return next((mass, missing) for number, mass, missing in self.masses if number == part.number)


def inputs_from(
    column: Column,
    pieces: Pieces,
    solids: Solids,
    buying: Buying,
    bagged: tuple[Bagged, ...] = (),
    bagged_missing: tuple[str, ...] = (),
) -> Inputs:
    """The inputs of one column; `bagged` is what its pour says is to be bought."""
    by_name = {piece.body.name: piece for piece in solids.own}
    masses = []
    for part in pieces.parts:
        piece = by_name[part.bodies[0].name]
        mass = None if piece.moments is None else Kilogram(piece.moments.total)
        masses.append((part.number, mass, piece.missing))
    fills = [piece for piece in solids.own if piece.body.role is Role.FILL]
    known = [piece for piece in fills if piece.moments is not None]
    return Inputs(
        pieces=pieces,
        masses=tuple(masses),
        fill_mass=Kilogram(sum(p.mass for p in known)) if fills and len(known) == len(fills) else None,
        has_fill=bool(fills),
        fill_missing=next((p.missing for p in fills if p.moments is None), ""),
        fasteners=_fasteners(column),
        bagged=bagged,
        bagged_missing=bagged_missing,
        joints=column.joints,
        faces=len(column.faces),
        trued=bool(column.truing_depth),
        buying=buying,
    )


def _fasteners(column: Column) -> tuple[FastenerNeed, ...]:
    needs: dict[tuple[object, ...], FastenerNeed] = {}

    def add(
        what: str, thread: str | None, grade: str | None, diameter: float, length: float | None, path: str
    ) -> None:
        key = (what, thread, grade, round(diameter, 6), None if length is None else round(length, 5))
        old = needs.get(key)
        count = 1 if old is None else old.count + 1
        size = None if length is None else Metre(length)
        needs[key] = FastenerNeed(
            what, thread, grade, Metre(diameter), size, count, path if old is None else old.path
        )

    bodies = {body.name: body for body in column.bodies}
    for stud in column.studs:
        body = bodies.get(stud.name)
        add("stud", stud.thread, stud.grade, _across(stud), _length(body), stud.path)
        if f"nut of {stud.name}" in bodies:
            add("nut", stud.thread, stud.grade, _across(stud), None, stud.path)
        if stud.washer_outside is not None:
            add("washer", stud.thread, None, stud.washer_outside, None, f"{stud.path}.washer")
    for pin in column.pins:
        add("pin", None, pin.kind, pin.diameter, _pin_length(pin), pin.path)
    for joint in column.joints:
        for each in joint.joiners:
            if each.what == "screw":
                add("screw", each.thread, joint.grade, each.diameter, each.length, each.path)
            else:
                add("pin", None, "joining", each.diameter, each.length, each.path)
    for pattern in column.patterns:
        for hole in pattern.holes:
            if hole.insert_diameter is not None:
                add("insert", hole.thread, None, hole.insert_diameter, hole.insert_length, hole.path)
    return tuple(needs.values())


def _across(stud: Stud) -> float:
    from orthostat import catalogue

    return float(catalogue.thread(stud.thread).nominal)


def _length(body: object) -> float | None:
    adds = getattr(body, "adds", ())
    return (
        max((prism.high for prism in adds), default=0.0) - min((prism.low for prism in adds), default=0.0)
        or None
    )


def _pin_length(pin: Pin) -> float | None:
    if pin.length_below is None or pin.length_above is None:
        return None
    return pin.length_below + pin.length_above
