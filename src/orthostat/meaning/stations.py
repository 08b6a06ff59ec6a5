"""Stations laid out: a fixture on every face and place it is asked for, bodies, fastening, cuts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Any, NamedTuple

from orthostat import catalogue
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.frames import Frame, face_frame
from orthostat.document import station as documents
from orthostat.document.reading import KeyPath, key_text
from orthostat.meaning.faults import Faults
from orthostat.meaning.ground import Ground, ground_of, on_its_ground, reach_of
from orthostat.meaning.kept import kept
from orthostat.meaning.names import Names
from orthostat.meaning.plan import convex_polygon
from orthostat.meaning.values import places, point, si
from orthostat.model.bodies import Body, Disc, Face, Point2, Polygon, Prism, Role
from orthostat.model.stations import Cut, CutMaterial, Dowel, Screw, Station

_HOLES = ("drill", "bore", "tap", "thread")
_SIDES = {"front": 0.0, "right": 0.5 * pi, "left": -0.5 * pi}


@dataclass(frozen=True)
class Stage:
    """What laying out needs to know: the faces, the lift of heights v, names."""

    faces: tuple[Face, ...]
    v_shift: float
    names: Names
    fixtures: dict[str, documents.Fixture]
    tools: frozenset[str]
    shop_fixtures: frozenset[str] = frozenset()
    """Fixtures that stand in the shop's document, not the column's."""

    @property
    def faults(self) -> Faults:
        return self.names.faults


def stations_of(stated: tuple[documents.Station, ...], stage: Stage) -> tuple[Station, ...]:
    """Every station of the column; duplicate names and unknown fixtures are noted as faults."""
    made: list[Station] = []
    seen: dict[str, int] = {}
    for index, station in enumerate(stated):
        path: KeyPath = ("stations", index)
        if station.name in seen:
            stage.faults.add(
                (*path, "name"), f"stations[{seen[station.name]}] has this name already", f"`{station.name}`"
            )
        seen.setdefault(station.name, index)
        contents = _contents(station, path, stage)
        spots = places(station)
        if not spots:
            stage.faults.add(path, "is nowhere on its face; give at, grid or circle")
        faces = stage.names.faces(station.faces, stage.faces, (*path, "faces"))
        for face in faces:
            for number, spot in enumerate(spots, 1):
                name = station.name
                if len(faces) > 1:
                    name += f", {face.name}"
                if len(spots) > 1:
                    name += f", no. {number}"
                made.append(_one(name, face, (spot[0], spot[1] + stage.v_shift), contents, path, stage))
    return tuple(made)


class _Place(NamedTuple):
    """A key path, and whether it is one of the shop's document."""

    path: KeyPath
    of_shop: bool = False

    def inside(self, *more: str | int) -> _Place:
        return _Place((*self.path, *more), self.of_shop)

    def key(self, names: Names) -> str:
        """The key path as findings name it; a fixture of the shop is not under the column."""
        return key_text(self.path) if self.of_shop else names.at(*self.path)


@dataclass(frozen=True, slots=True)
class _Contents:
    """What stands at a station: the fixture it starts from, then its own, each with where it is written."""

    parts: tuple[documents.Fixture, ...]
    places: tuple[_Place, ...]

    @property
    def friction(self) -> Any:
        return next((si(f.friction) for f in reversed(self.parts) if f.friction is not None), None)


def _contents(station: documents.Station, path: KeyPath, stage: Stage) -> _Contents:
    own = _Contents((station,), (_Place(path),))
    if station.fixture is None:
        return own
    start = stage.fixtures.get(station.fixture)
    if start is None:
        stage.faults.unknown_name((*path, "fixture"), "fixture", station.fixture, stage.fixtures)
        return own
    place = _Place(("fixtures", station.fixture), station.fixture in stage.shop_fixtures)
    return _Contents((start, station), (place, _Place(path)))


def _one(name: str, face: Face, origin: Point2, contents: _Contents, path: KeyPath, stage: Stage) -> Station:
    carried = _carried(
        contents.parts, contents.places, name, face.number, face.angle, face.distance, origin, stage.names
    )
    ground = ground_of(face, carried.reach)
    written = list(zip(contents.parts, contents.places, strict=True))
    return Station(
        name=name,
        path=stage.names.at(*path),
        face=face.number,
        origin=origin,
        bodies=carried.bodies,
        footprint=carried.footprint,
        screws=tuple(
            screw
            for part, at in written
            for k, group in enumerate(part.screws)
            for screw in _screws(group, at.inside("screws", k), origin, stage.names)
        ),
        dowels=tuple(
            dowel
            for part, at in written
            for k, group in enumerate(part.dowels)
            for dowel in _dowels(group, at.inside("dowels", k), origin, stage.names)
        ),
        friction=contents.friction,
        cuts=tuple(_cuts(name, face, origin, contents, ground, stage)),
    )


def _cuts(
    station: str, face: Face, origin: Point2, contents: _Contents, ground: Ground, stage: Stage
) -> Iterator[Cut]:
    for part, at in zip(contents.parts, contents.places, strict=True):
        for index, stated in enumerate(part.cuts):
            where = at.inside("cuts", index)
            cut = _cut_on(stated, where, station, face, origin, stage)
            if on_its_ground(cut, face, ground, where.path, stage.faults):
                yield cut


@dataclass(frozen=True, slots=True)
class _Carried:
    """The bodies of a station, where they touch its face, and how far they reach along it."""

    bodies: tuple[Body, ...]
    footprint: Polygon | None
    reach: Ground | None


@kept(256)
def _carried(
    parts: tuple[documents.Fixture, ...],
    written_at: tuple[_Place, ...],
    station: str,
    number: int,
    angle: float,
    distance: Metre,
    origin: Point2,
    names: Names,
) -> _Carried:
    frame = face_frame(Radian(angle), distance)
    bodies = tuple(
        body
        for part, at in zip(parts, written_at, strict=True)
        for k, solid in enumerate(part.bodies)
        if (body := _body(solid, station, number, frame, origin, at.inside("bodies", k), names)) is not None
    )
    return _Carried(bodies, _footprint(bodies), reach_of(bodies, angle))


@kept(512)
def _screws(group: documents.Screws, at: _Place, origin: Point2, names: Names) -> tuple[Screw, ...]:
    names.thread(group.thread, (*at.path, "thread"))
    names.grade(group.grade, (*at.path, "grade"))
    names.known_method(group.tightening, (*at.path, "tightening"))
    return tuple(
        Screw(
            (origin[0] + u, origin[1] + v),
            group.thread,
            group.grade,
            si(group.engagement),
            si(group.torque),
            si(group.preload),
            si(group.friction),
            group.tightening,
            si(group.scatter),
            si(group.grip),
            si(group.hole),
            at.key(names),
        )
        for u, v in places(group)
    )


@kept(512)
def _dowels(group: documents.Dowels, at: _Place, origin: Point2, names: Names) -> tuple[Dowel, ...]:
    names.known_fit(group.fit, group.diameter.si, (*at.path, "fit"))
    material = names.material(group.material, (*at.path, "material"))
    return tuple(
        Dowel(
            (origin[0] + u, origin[1] + v),
            group.diameter.si,
            group.fit,
            group.relieved,
            si(group.engagement),
            si(group.length_above),
            names.dowel_shear(group.shear_strength, material, group.diameter.si),
            material,
            at.key(names),
        )
        for u, v in places(group)
    )


def _body(
    solid: documents.Solid,
    station: str,
    number: int,
    frame: Frame,
    origin: Point2,
    at: _Place,
    names: Names,
) -> Body | None:
    path, middle = at.path, point(solid.at)
    u, v = origin[0] + middle[0], origin[1] + middle[1]
    foot = solid.stands_at.si if solid.stands_at else 0.0
    shapes = [shape for shape in (solid.box, solid.cylinder, solid.prism) if shape is not None]
    if len(shapes) != 1:
        names.faults.add(
            path,
            "give one shape" if not shapes else "gives its shape twice; keep one",
            allowed="box, cylinder or prism",
        )
        return None
    if foot < -1e-6:
        names.faults.add(
            (*path, "stands_at"),
            "puts the body inside the column; a station stands on its face",
            f"`{solid.stands_at.text if solid.stands_at else ''}`",
        )
        return None
    prism = _prism(solid, u, v, foot, frame, path, names)
    if prism is None:
        return None
    name = f"{solid.name or solid.what} of {station}"
    return Body(
        name,
        Role(solid.what),
        (prism,),
        (),
        names.material(solid.material, (*path, "material")),
        si(solid.mass),
        number,
        station,
        at.key(names),
    )


def _prism(
    solid: documents.Solid, u: float, v: float, foot: float, frame: Frame, path: KeyPath, names: Names
) -> Prism | None:
    if solid.box is not None:
        across, up, out = (size.si for size in solid.box)
        return Prism(_box(u, v, across, up), Metre(foot), Metre(foot + out), frame)
    if solid.prism is not None:
        points = [(u + p[0].si, v + p[1].si) for p in solid.prism.points]
        outline = convex_polygon(points, (*path, "prism", "points"), names.faults)
        return (
            None
            if outline is None
            else Prism(outline, Metre(foot), Metre(foot + solid.prism.depth.si), frame)
        )
    shape = solid.cylinder
    if shape is None:
        return None
    radius, length = 0.5 * shape.diameter.si, shape.length.si
    if shape.along == "w":
        return Prism(Disc((u, v), Metre(radius)), Metre(foot), Metre(foot + length), frame)
    # Lying down: swept along u or v, its lowest line at `foot`.
    if shape.along == "u":
        lying = Frame(frame.origin, frame.second, frame.third, frame.first)
        return Prism(
            Disc((v, foot + radius), Metre(radius)), Metre(u - 0.5 * length), Metre(u + 0.5 * length), lying
        )
    lying = Frame(frame.origin, frame.third, frame.first, frame.second)
    return Prism(
        Disc((foot + radius, u), Metre(radius)), Metre(v - 0.5 * length), Metre(v + 0.5 * length), lying
    )


def _box(u: float, v: float, across: float, up: float) -> Polygon:
    a, b = 0.5 * across, 0.5 * up
    return Polygon(((u - a, v - b), (u + a, v - b), (u + a, v + b), (u - a, v + b)))


def _footprint(bodies: tuple[Body, ...]) -> Polygon | None:
    """The convex hull of what touches the face."""
    points: list[Point2] = []
    for body in bodies:
        for prism in body.adds:
            if body.role is not Role.FIXTURE or prism.low > 1e-9 or prism.frame.third == (0.0, 1.0, 0.0):
                continue
            if isinstance(prism.section, Polygon):
                points += prism.section.points
            else:
                (u, v), r = prism.section.centre, prism.section.radius
                points += [(u + r * cos(pi * i / 16), v + r * sin(pi * i / 16)) for i in range(32)]
    if not points:
        return None
    if len(points) == 4:
        return Polygon(tuple(points))
    import shapely

    hull = shapely.convex_hull(shapely.MultiPoint(points))
    return Polygon(tuple((u, v) for u, v in hull.exterior.coords[:-1]))


def _cut_on(stated: documents.Cut, at: _Place, station: str, face: Face, origin: Point2, stage: Stage) -> Cut:
    turn = stated.turn.si if stated.turn else _SIDES[stated.side or "front"]
    if abs(turn) <= 1e-12:
        return _cut(stated, at, station, Radian(turn), origin[0], 0.0, origin[1], stage.tools, stage.names)
    u0 = origin[0] * cos(turn) - face.distance * sin(turn)
    w0 = origin[0] * sin(turn) + face.distance * cos(turn)
    return _cut(stated, at, station, Radian(turn), u0, w0, origin[1], stage.tools, stage.names)


@kept(1024)
def _cut(
    stated: documents.Cut,
    at: _Place,
    station: str,
    turn: Radian,
    u0: float,
    w0: float,
    v0: float,
    tools: frozenset[str],
    names: Names,
) -> Cut:
    """The cut; u, v and w are counted from `u0`, `v0`, `w0` in its own view."""
    path, faults = at.path, names.faults
    if stated.tool not in tools:
        faults.unknown_name((*path, "tool"), "tool", stated.tool, tools)
    if stated.side is not None and stated.turn is not None:
        faults.add(path, "gives both side and turn; keep one")
    spots = tuple((u0 + u, v0 + v) for u, v in places(stated))
    is_hole = stated.kind in _HOLES
    if is_hole and not spots:
        faults.add(path, f"is nowhere; a {stated.kind} needs at, grid or circle")
    if not is_hole and spots:
        faults.add(path, f"a {stated.kind} cut is a region, not places; give region")
    region = _region(stated, (u0, v0), path, faults)
    if is_hole and stated.region is not None:
        faults.add((*path, "region"), f"a {stated.kind} is made at places; give at, grid or circle")
    if not is_hole and stated.region is None:
        faults.add((*path, "region"), f"is missing; a {stated.kind} cut machines a region")
    speed, feed = stated.speed, stated.feed
    top = w0 + stated.top.si
    return Cut(
        name=f"{stated.name or stated.kind} of {station}",
        path=at.key(names),
        kind=stated.kind,
        tool=stated.tool,
        turn=turn,
        places=spots,
        region=region,
        top=Metre(top),
        bottom=Metre(top - stated.depth.si),
        spindle_speed=speed.si if speed and speed.kind == "rotation speed" else None,
        cutting_speed=speed.si if speed and speed.kind == "speed" else None,
        feed_per_tooth=feed.si if feed and feed.kind == "feed per tooth" else None,
        feed_per_turn=feed.si if feed and feed.kind == "feed per turn" else None,
        feed_rate=feed.si if feed and feed.kind == "feed rate" else None,
        width=si(stated.width),
        pass_depth=si(stated.pass_depth),
        start_diameter=si(stated.start_diameter),
        material=_cut_material(stated.material, (*path, "material"), names),
        tolerance=si(stated.tolerance),
        through=stated.through,
        feed_direction=si(stated.feed_direction),
    )


def _region(stated: documents.Cut, shift: Point2, path: KeyPath, faults: Faults) -> Polygon | None:
    region = stated.region
    if region is None:
        return None
    where = (*path, "region")
    if region.points is not None:
        if region.u is not None or region.v is not None:
            faults.add(where, "gives both points and ranges; keep one")
        return convex_polygon(
            [(shift[0] + p[0].si, shift[1] + p[1].si) for p in region.points], where, faults
        )
    if region.u is None or region.v is None:
        faults.add(where, "needs both u and v, or points")
        return None
    a, b = (shift[0] + end.si for end in region.u)
    c, d = (shift[1] + end.si for end in region.v)
    if a >= b or c >= d:
        faults.add(where, "is the wrong way round; write the lower end first")
        return None
    return Polygon(((a, c), (b, c), (b, d), (a, d)))


def _cut_material(name: str | None, path: KeyPath, names: Names) -> CutMaterial | None:
    if name is None:
        return None
    own = names.shop.cut_materials.get(name)
    if own is not None:
        return CutMaterial(name, own.kc11.si, own.mc.si, own.source or "shop")
    try:
        return catalogue.cut_material(name)
    except catalogue.UnknownRow as unknown:
        known = [*names.shop.cut_materials, *catalogue.names("cut_materials")]
        names.faults.unknown_name(path, "cut material", name, known, unknown.nearest)
        return None
