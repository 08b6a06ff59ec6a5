"""Mass properties of every body and of the groups that a shop lifts, turns or weighs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

from orthostat.analyses.solids.crossing import body_moments
from orthostat.analyses.solids.extents import Extents, body_extents
from orthostat.analyses.solids.moments import Moments, Tensor, total
from orthostat.base.dimensions import CubicMetre, Kilogram, KilogramSquareMetre
from orthostat.base.findings import NotStated
from orthostat.base.frames import Vector
from orthostat.model.bodies import COLUMN_ROLES, Body
from orthostat.model.column import Column


@dataclass(frozen=True, slots=True)
class Inputs:
    """The bodies of a design: the column's own, those of its stations, and what it stands on."""

    bodies: tuple[Body, ...]
    station_bodies: tuple[Body, ...] = ()
    platforms: tuple[Body, ...] = ()


def inputs_from(column: Column) -> Inputs:
    """The inputs of one column with its stations and platforms."""
    carried = tuple(body for station in column.stations for body in station.bodies)
    return Inputs(column.bodies, carried, column.platforms)


@dataclass(frozen=True)
class Piece:
    """One body with what is known of it: volume always, mass where a density or a mass is stated."""

    body: Body
    volume: CubicMetre
    moments: Moments | None
    """Mass moments about the column's origin; `None` when the mass is not known."""
    missing: str = ""
    """Document key path that would give the mass."""

    @cached_property
    def extents(self) -> Extents:
        """How far it reaches."""
        return body_extents(self.body)

    @property
    def mass(self) -> Kilogram:
        """Mass [kg]; raises `NotStated` naming the missing density."""
        if self.moments is None:
            raise NotStated(self.missing)
        return Kilogram(self.moments.total)


@dataclass(frozen=True, slots=True)
class Group:
    """Mass properties of several bodies taken together.

    Each quantity raises `NotStated`, naming every missing density, where one of the bodies has no
    mass; `known` holds the moments of those that have.
    """

    name: str
    known: Moments
    volume: CubicMetre
    missing: tuple[str, ...] = ()

    @property
    def moments(self) -> Moments:
        """Mass moments about the column's origin."""
        if self.missing:
            raise NotStated(*self.missing, reason=f"the mass of {self.name} is not known in full")
        if self.known.total <= 0.0:
            raise NotStated(reason=f"{self.name} has no mass: no bodies are described")
        return self.known

    @property
    def mass(self) -> Kilogram:
        """Mass [kg]."""
        return Kilogram(self.moments.total)

    @property
    def centre(self) -> Vector:
        """Centre of gravity (x, y, z) in the column frame [m]."""
        return self.moments.centre

    @property
    def inertia(self) -> Tensor:
        """Inertia tensor (3, 3) about the centre of gravity, column axes [kg m²]."""
        return self.moments.inertia

    @property
    def about_b_axis(self) -> KilogramSquareMetre:
        """Moment of inertia about the B axis [kg m²]."""
        return self.moments.about_b_axis

    def plus(self, other: Group, name: str) -> Group:
        """Both groups together."""
        return _sum(name, self, other)


@dataclass(frozen=True, slots=True)
class FaceLoad:
    """What one face carries, and the column with only that face empty or only that face full."""

    face: int
    hung: Group
    without: Group
    """Half-loaded: all that stands on the pallet but what hangs on this face."""
    alone: Group
    """The bare column with this face's stations only, as it is built up on a bench."""


@dataclass(frozen=True, slots=True)
class Solids:
    """What `solve` gives. Groups that a question needs are ready; other sums come from `group`.

    The load is what the machine's rating means: column, studs, stations and whatever else stands above
    the pallet top; the pallet itself is apart, in `platforms`.
    """

    own: tuple[Piece, ...]
    """The column's own pieces, studs and pins included."""
    carried: tuple[Piece, ...]
    """Fixtures, parts and clamps."""
    risen: tuple[Piece, ...]
    """Risers, and bases that stand above the pallet top."""
    beneath: tuple[Piece, ...]
    """Pallet and base below the pallet top."""
    bare: Group
    """The column itself, as lifted: no studs, no stations."""
    fastened: Group
    """The column with its studs, nuts, washers and pins."""
    empty: Group
    """All that stands on the pallet with no station filled."""
    loaded: Group
    """All that stands on the pallet with every station full."""
    dressed: Group
    """The bare column with every station full, standing free."""
    platforms: tuple[Group, ...]
    """Pallet, intermediate base and riser, each alone."""
    faces: tuple[FaceLoad, ...]
    """The faces that carry stations."""

    def __hash__(self) -> int:
        """Of sums, which mostly differ where pieces do: hashing every piece takes long."""
        return hash((self.loaded, self.dressed))

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every piece."""
        return self.own + self.carried + self.risen + self.beneath

    @property
    def load_pieces(self) -> tuple[Piece, ...]:
        """Pieces that turn with the pallet and count as its load."""
        return self.own + self.carried + self.risen

    def piece(self, name: str) -> Piece:
        """The first piece of a body by its name. Raises `KeyError`."""
        for piece in self.pieces:
            if piece.body.name == name:
                return piece
        raise KeyError(name)


def solve(inputs: Inputs) -> Solids:
    """Exact mass properties of every body and group. Never raises for a missing density."""
    own = tuple(map(_piece, inputs.bodies))
    carried = tuple(map(_piece, inputs.station_bodies))
    standing = tuple(map(_piece, inputs.platforms))
    risen = tuple(piece for piece in standing if piece.extents.y_high > STANDS_ABOVE)
    bare = group("the bare column", (piece for piece in own if piece.body.role in COLUMN_ROLES))
    rest = group("the studs and pins", (piece for piece in own if piece.body.role not in COLUMN_ROLES))
    fastened = bare.plus(rest, "the column with its studs")
    empty = fastened.plus(group("what raises it", risen), "the column on the pallet")
    loose = group("the stations", (piece for piece in carried if piece.body.face is None))
    numbers = sorted({piece.body.face for piece in carried if piece.body.face is not None})
    hung = {
        face: group(f"what hangs on face {face}", (piece for piece in carried if piece.body.face == face))
        for face in numbers
    }
    return Solids(
        own=own,
        carried=carried,
        risen=risen,
        beneath=tuple(piece for piece in standing if piece not in risen),
        bare=bare,
        fastened=fastened,
        empty=empty,
        loaded=_sum("the loaded column", empty, loose, *hung.values()),
        dressed=_sum("the column with its stations", bare, loose, *hung.values()),
        platforms=tuple(group(piece.body.name, (piece,)) for piece in standing),
        faces=tuple(_face_load(face, hung, bare=bare, empty=empty, loose=loose) for face in numbers),
    )


def _face_load(face: int, hung: dict[int, Group], *, bare: Group, empty: Group, loose: Group) -> FaceLoad:
    others = (carried for number, carried in hung.items() if number != face)
    return FaceLoad(
        face,
        hung[face],
        _sum(f"the column with face {face} empty", empty, loose, *others),
        bare.plus(hung[face], f"the free-standing column with only face {face} full"),
    )


STANDS_ABOVE = 1e-6
"""A platform that rises above the pallet top by more than this [m] stands on the pallet."""


def group(name: str, pieces: Iterable[Piece]) -> Group:
    """Several pieces as one group."""
    listed = tuple(pieces)
    return Group(
        name,
        total(piece.moments for piece in listed if piece.moments is not None),
        CubicMetre(sum(piece.volume for piece in listed)),
        tuple(dict.fromkeys(piece.missing for piece in listed if piece.moments is None)),
    )


def _sum(name: str, *groups: Group) -> Group:
    return Group(
        name,
        total(each.known for each in groups),
        CubicMetre(sum(each.volume for each in groups)),
        tuple(dict.fromkeys(key for each in groups for key in each.missing)),
    )


@lru_cache(maxsize=2048)
def _piece(body: Body) -> Piece:
    volume = body_moments(body)
    density, missing = _density(body, volume.total)
    mass = None if density is None else volume.times(density)
    return Piece(body, CubicMetre(volume.total), mass, missing)


def _density(body: Body, volume: float) -> tuple[float | None, str]:
    """Density [kg/m³] from the stated mass or the material, or the key path that would give it."""
    if body.mass is not None:
        return (body.mass / volume, "") if volume > 0.0 else (None, f"{body.path}.mass")
    if body.material is None or body.material.density is None:
        return None, body.property_key("density")
    return body.material.density, ""
