"""All answers of reach, each worked out when it is asked for and kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import shapely

from orthostat.analyses.reach import alike, maps, positions
from orthostat.analyses.reach.changer import Limit
from orthostat.analyses.reach.changer import limits_of as changer_limits
from orthostat.analyses.reach.cuts import CutReach, cut_reach, removed_by, tip_of
from orthostat.analyses.reach.inputs import TRUING_KINDS, Inputs, Limits
from orthostat.analyses.reach.maps import FaceMap, Ground, LostPart
from orthostat.analyses.reach.positions import Task
from orthostat.analyses.reach.scene import TOUCH, Nameless, Scene, view
from orthostat.analyses.reach.turning import Turning, turning
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.findings import NotStated
from orthostat.base.frames import b_facing
from orthostat.model.bodies import COLUMN_ROLES, STATION_ROLES, Face, Role
from orthostat.model.stations import Cut, Station
from orthostat.model.tools import Tool


@dataclass(frozen=True)
class TruedFace:
    """Truing one face in place: every mill that may do it at the truing depth, the best first."""

    face: Face
    depth: Metre
    maps: tuple[FaceMap, ...]

    @property
    def best(self) -> FaceMap | None:
        """The mill that does it with most to spare, or misses by least; `None` where there is no mill."""
        return self.maps[0] if self.maps else None

    @property
    def able(self) -> tuple[FaceMap, ...]:
        return tuple(each for each in self.maps if each.ground.whole)


@dataclass(frozen=True, eq=False)
class Reach:
    """The answers for one design. Nothing is worked out before it is asked for."""

    inputs: Inputs

    def face_map(self, number: int, tool: str, tip: Metre | None = None, *, loaded: bool = False) -> FaceMap:
        """What one tool machines of one face, tip at `tip` over the face as drawn (negative into it).

        Without `tip` a milling cutter stands at the truing depth and any other tool at the face. `loaded`
        keeps the stations of the other faces; this face's own are taken off in either case. Raises
        `KeyError` for a face or tool that is not there.
        """
        return _face_map(self.inputs, self.face(number), self.tool(tool), tip, loaded=loaded)

    def blamed(self, found: FaceMap) -> tuple[LostPart, ...]:
        """The parts of a face that a map lost, each with what blocks it."""
        return maps.blamed(self._task(found), found.ground)

    def blamed_most(self, found: FaceMap) -> LostPart:
        """The largest part of a face that a map lost, with what blocks it; there must be one."""
        areas = [part.area for part in found.ground.lost_parts]
        return maps.blamed_part(self._task(found), found.ground, areas.index(max(areas)))

    def _task(self, found: FaceMap) -> Task:
        return face_task(self.inputs, found.face, found.tool, found.tip, loaded=found.loaded)

    def face(self, number: int) -> Face:
        """A face by its number."""
        return {face.number: face for face in self.inputs.faces}[number]

    def tool(self, name: str) -> Tool:
        """A tool by its name."""
        return {tool.name: tool for tool in self.inputs.tools}[name]

    @cached_property
    def overview(self) -> tuple[tuple[FaceMap, ...], ...]:
        """Every tool on every face of the bare column: one row a face, one column a tool."""
        return tuple(
            tuple(self.face_map(face.number, tool.name) for tool in self.inputs.tools)
            for face in self.inputs.faces
        )

    @cached_property
    def truing(self) -> tuple[TruedFace, ...]:
        """Truing in place, face by face. Raises `NotStated` where no truing depth is stated."""
        depth = self.inputs.truing_depth
        if depth is None:
            raise NotStated(self.inputs.truing_path)
        made = []
        for face in self.inputs.faces:
            tried = [
                self.face_map(face.number, tool.name, Metre(-depth)) for tool in self.inputs.truing_mills
            ]
            tried.sort(key=lambda each: (-each.ground.overrun, -each.ground.share, each.tool.name))
            made.append(TruedFace(face, depth, tuple(tried)))
        return tuple(made)

    @cached_property
    def cuts(self) -> tuple[CutReach, ...]:
        """Every cut of every station, in document order."""
        return tuple(self._cut(station, cut) for station in self.inputs.stations for cut in station.cuts)

    def cut(self, station: str, name: str) -> CutReach:
        """One cut by its names; raises `KeyError` where there is none, `NotStated` without its tool."""
        holder = {each.name: each for each in self.inputs.stations}[station]
        return self._cut(holder, {each.name: each for each in holder.cuts}[name])

    def _cut(self, station: Station, cut: Cut) -> CutReach:
        tool = next((each for each in self.inputs.tools if each.name == cut.tool), None)
        if tool is None:
            raise NotStated(f"tools.{cut.tool}")
        task, angle = cut_task(self.inputs, station, cut, tool)
        return cut_reach(station.name, cut, task, b_angle(self.inputs.limits, angle))

    @cached_property
    def turning(self) -> tuple[Turning, ...]:
        """Every tool that a cut uses, while the loaded column turns; all tools where no cut is stated."""
        used = {cut.tool for station in self.inputs.stations for cut in station.cuts}
        chosen = [tool for tool in self.inputs.tools if tool.name in used] or list(self.inputs.tools)
        return tuple(turning(self.inputs.loaded, tool, self.inputs.limits) for tool in chosen)

    def changer(self, tool: str) -> tuple[Limit, ...]:
        """The tool changer's limits beside one tool."""
        return changer_limits(self.tool(tool), self.inputs.magazine)


def solve(inputs: Inputs) -> Reach:
    """The answers of reach for one design, lazily."""
    return Reach(inputs)


def b_angle(limits: Limits, angle: Radian) -> Radian:
    """The B angle that turns the direction `angle` of the column to the spindle."""
    return b_facing(angle, clockwise=limits.clockwise)


def face_task(inputs: Inputs, face: Face, tool: Tool, tip: Metre, *, loaded: bool) -> Task:
    """One tool over one face, its own stations taken off. The column's own bodies that do not stand
    out beyond the face are what is being cut; a flange or lid that does is an obstacle.
    """
    scene = _without_face(inputs.loaded, face.number) if loaded else inputs.bare
    return Task(
        scene,
        Radian(face.angle),
        tool,
        Metre(face.distance + tip),
        inputs.limits,
        inputs.clearances,
        _flush(scene, Radian(face.angle), face.distance),
    )


def cut_task(inputs: Inputs, station: Station, cut: Cut, tool: Tool) -> tuple[Task, Radian]:
    """One cut with everything on the column, and the direction of the column it is made from."""
    face = {each.number: each for each in inputs.faces}[station.face]
    angle = Radian(face.angle + cut.turn)
    plane = face.distance if cut.turn == 0.0 else Metre(0.0)
    stock = _parts_of(inputs.loaded).get(station.name, frozenset())
    if not stock and cut.turn == 0.0 and cut.bottom < 0.0:
        stock = _flush(inputs.loaded, angle, face.distance)
    task = Task(
        inputs.loaded,
        angle,
        tool,
        tip_of(cut, tool, plane),
        inputs.limits,
        inputs.clearances,
        stock,
        removed_by(cut, tool, inputs.chord),
    )
    return task, angle


@lru_cache(maxsize=16)
def _parts_of(scene: Scene) -> dict[str, frozenset[int]]:
    """Which solids are the parts at each station."""
    found: dict[str, set[int]] = {}
    for k, solid in enumerate(scene.solids):
        if solid.station is not None and solid.role is Role.PART:
            found.setdefault(solid.station, set()).add(k)
    return {station: frozenset(parts) for station, parts in found.items()}


@lru_cache(maxsize=64)
def _flush(scene: Scene, angle: Radian, distance: Metre) -> frozenset[int]:
    high = view(scene, angle).high[:, 2]
    return frozenset(
        k
        for k, solid in enumerate(scene.solids)
        if solid.role in COLUMN_ROLES and float(high[k]) <= distance + TOUCH
    )


@lru_cache(maxsize=64)
def _without_face(scene: Scene, number: int) -> Scene:
    kept: Iterable[int] = (
        k for k, s in enumerate(scene.solids) if not (s.role in STATION_ROLES and s.face == number)
    )
    return replace(scene, solids=tuple(scene.solids[k] for k in kept))


def _face_map(inputs: Inputs, face: Face, tool: Tool, tip: Metre | None, *, loaded: bool) -> FaceMap:
    if tip is None:
        depth = inputs.truing_depth if tool.kind in TRUING_KINDS else None
        tip = Metre(0.0 if depth is None else -depth)
    task = face_task(inputs, face, tool, tip, loaded=loaded)
    return FaceMap(
        face,
        tool,
        tip,
        loaded,
        b_angle(inputs.limits, Radian(face.angle)),
        _ground(task, face),
        positions.unknowns(task),
    )


@lru_cache(maxsize=192)
def _ground(task: Task, face: Face) -> Ground:
    """Worked out once for all faces that look alike or are mirror images, without names."""
    low, up, high, top = (round(end, 12) for end in (face.u_low, face.v_low, face.u_high, face.v_high))
    plain = alike.nameless_task(task)
    if plain is None:
        return _face_ground(task, (low, up, high, top))
    mirror = alike.nameless_task(task, mirrored=True) if alike.symmetric(task.limits) else None
    if mirror is not None and _look(mirror[0]) < _look(plain[0]):
        shared, owner = mirror
        found = _face_ground(shared, (-high, up, -low, top))
        made = maps.mirrored(found)
    else:
        shared, owner = plain
        made = found = _face_ground(shared, (low, up, high, top))
    return replace(made, against=replace(made.against, owner=owner[found.against.owner]), shared=found)


def _look(task: Task) -> tuple[tuple[bytes, bool], ...]:
    return task.scene.blocks if isinstance(task.scene, Nameless) else ()


@lru_cache(maxsize=256)
def _face_ground(task: Task, box: tuple[float, float, float, float]) -> Ground:
    return maps.ground(task, shapely.box(*box))
