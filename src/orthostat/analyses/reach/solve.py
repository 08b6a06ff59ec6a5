"""All answers of reach, each worked out when it is asked for and kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
import shapely

from orthostat.analyses.reach import alike, maps, positions
from orthostat.analyses.reach.changer import Limit
from orthostat.analyses.reach.changer import limits_of as changer_limits
from orthostat.analyses.reach.cuts import CutReach, Planned, cut_reaches, removed_by, tip_of
from orthostat.analyses.reach.inputs import TRUING_KINDS, Inputs, Limits
from orthostat.analyses.reach.maps import FaceMap, Ground, LostPart
from orthostat.analyses.reach.obstacles import Task
from orthostat.analyses.reach.scene import TOUCH, Indices, Scene, view
from orthostat.analyses.reach.stack import is_mill
from orthostat.analyses.reach.turning import Turning, turning
from orthostat.base.dimensions import Metre, Radian
from orthostat.base.findings import NotStated
from orthostat.base.frames import b_facing
from orthostat.base.kept import Kept
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
        return _face_maps(self.inputs, [(self.face(number), self.tool(tool), tip)], loaded=loaded)[0]

    def blamed(self, found: FaceMap) -> tuple[LostPart, ...]:
        """The parts of a face that a map lost, each with what blocks it."""
        return maps.blamed(self._task(found), found.ground)

    def blamed_most(self, found: FaceMap) -> LostPart:
        """The largest part of a face that a map lost, with what blocks it; there must be one."""
        return maps.blamed_part(self._task(found), found.ground, found.ground.largest)

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
        tools = self.inputs.tools
        asked = [(face, tool, None) for face in self.inputs.faces for tool in tools]
        made = iter(_face_maps(self.inputs, asked, loaded=False))
        return tuple(tuple(next(made) for _ in tools) for _ in self.inputs.faces)

    @cached_property
    def truing(self) -> tuple[TruedFace, ...]:
        """Truing in place, face by face. Raises `NotStated` where no truing depth is stated."""
        if self.inputs.truing_depth is None:
            raise NotStated(self.inputs.truing_path)
        return _trued(replace(self.inputs, loaded=self.inputs.bare, stations=()), self.inputs.truing_depth)

    def share_out(self, found: Iterable[FaceMap]) -> None:
        """Work out together what `blamed_most` of some maps will ask for."""
        grounds = [each.ground for each in found if not each.ground.whole and not each.ground.z_blocked]
        maps.share_out((ground, ground.largest) for ground in grounds)

    @cached_property
    def cuts(self) -> tuple[CutReach, ...]:
        """Every cut of every station, in document order."""
        return cut_reaches(
            [self._planned(station, cut) for station in self.inputs.stations for cut in station.cuts]
        )

    def cut(self, station: str, name: str) -> CutReach:
        """One cut by its names; raises `KeyError` where there is none, `NotStated` without its tool."""
        holder = {each.name: each for each in self.inputs.stations}[station]
        return cut_reaches([self._planned(holder, {each.name: each for each in holder.cuts}[name])])[0]

    def _planned(self, station: Station, cut: Cut) -> Planned:
        tool = next((each for each in self.inputs.tools if each.name == cut.tool), None)
        if tool is None:
            raise NotStated(f"tools.{cut.tool}")
        task, angle = cut_task(self.inputs, station, cut, tool)
        return Planned(station.name, cut, task, b_angle(self.inputs.limits, angle))

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
        removed_by(cut, tool),
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
    low = view(scene, angle).high[:, 2] <= distance + TOUCH
    return frozenset(k for k in np.flatnonzero(low).tolist() if scene.solids[k].role in COLUMN_ROLES)


@lru_cache(maxsize=64)
def _without_face(scene: Scene, number: int) -> Scene:
    kept: Iterable[int] = (
        k for k, s in enumerate(scene.solids) if not (s.role in STATION_ROLES and s.face == number)
    )
    return replace(scene, solids=tuple(scene.solids[k] for k in kept))


Asked = tuple[Face, Tool, Metre | None]
"""A face, a tool, and the height of its tip over the face [m]; see `Reach.face_map`."""


def _face_maps(inputs: Inputs, asked: Sequence[Asked], *, loaded: bool) -> list[FaceMap]:
    tips = []
    for _, tool, tip in asked:
        depth = inputs.truing_depth if tool.kind in TRUING_KINDS else None
        tips.append(tip if tip is not None else Metre(0.0 if depth is None else -depth))
    tasks = [
        face_task(inputs, face, tool, tip, loaded=loaded)
        for (face, tool, _), tip in zip(asked, tips, strict=True)
    ]
    grounds = _GROUNDS.answers(
        [(task, _box(face)) for task, (face, _, _) in zip(tasks, asked, strict=True)], _by_look
    )
    return [
        FaceMap(
            face,
            tool,
            tip,
            loaded,
            b_angle(inputs.limits, Radian(face.angle)),
            ground,
            positions.unknowns(task),
        )
        for (face, tool, _), tip, task, ground in zip(asked, tips, tasks, grounds, strict=True)
    ]


@lru_cache(maxsize=16)
def _trued(unloaded: Inputs, depth: Metre) -> tuple[TruedFace, ...]:
    """Truing in place; of stations it knows nothing, so that a change to one leaves it as it was."""
    mills = unloaded.truing_mills
    asked = [(face, tool, Metre(-depth)) for face in unloaded.faces for tool in mills]
    found = iter(_face_maps(unloaded, asked, loaded=False))
    made = []
    for face in unloaded.faces:
        tried = [next(found) for _ in mills]
        tried.sort(key=_merit)
        made.append(TruedFace(face, depth, tuple(tried)))
    return tuple(made)


def _merit(found: FaceMap) -> tuple[float, float, str]:
    """The best first; what differs by rounding alone goes by its name."""
    return -round(found.ground.overrun, 9), -round(found.ground.share, 9), found.tool.name


Box = tuple[float, float, float, float]


def _box(face: Face) -> Box:
    """The face without the rounding of its corners."""
    return (round(face.u_low, 12), round(face.v_low, 12), round(face.u_high, 12), round(face.v_high, 12))


def _by_look(asked: list[tuple[Task, Box]]) -> list[Ground]:
    """Worked out once for all faces that look alike or are mirror images, without names."""
    shared: list[tuple[Task, Box]] = []
    owners: list[Indices | None] = []
    flipped: list[bool] = []
    for (task, box), found in zip(asked, alike.nameless_images([task for task, _ in asked]), strict=True):
        seen, owner, flip = (task, None, False) if found is None else found
        low, up, high, top = box
        shared.append((seen, (-high, up, -low, top) if flip else box))
        owners.append(owner)
        flipped.append(flip)
    made = []
    for found_there, owner, flip in zip(_SHARED.answers(shared, _worked_out), owners, flipped, strict=True):
        here = found_there.mirrored if flip else found_there
        if owner is not None:
            against = replace(here.against, owner=owner[here.against.owner])
            here = replace(here, against=against, shared=found_there)
        made.append(here)
    return made


def _worked_out(asked: list[tuple[Task, Box]]) -> list[Ground]:
    mills = [k for k, (task, _) in enumerate(asked) if is_mill(task.tool)]
    others = [k for k, (task, _) in enumerate(asked) if not is_mill(task.tool)]
    made: dict[int, Ground] = {}
    for chosen, mill in ((mills, True), (others, False)):
        boxes = [shapely.box(*asked[k][1]) for k in chosen]
        made.update(zip(chosen, maps.grounds([asked[k][0] for k in chosen], boxes, mill=mill), strict=True))
    return [made[k] for k in range(len(asked))]


_GROUNDS: Kept[tuple[Task, Box], Ground] = Kept(192)
_SHARED: Kept[tuple[Task, Box], Ground] = Kept(256)
