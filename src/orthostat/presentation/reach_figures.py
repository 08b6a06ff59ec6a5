"""Pictures of reach: face-on maps, side and plan views at the limit position."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from orthostat.analyses.reach import CutReach, FaceMap, Reach
from orthostat.analyses.reach.obstacles import Task
from orthostat.analyses.reach.scene import View, view
from orthostat.analyses.reach.solve import face_task
from orthostat.analyses.reach.stack import Member, is_mill, members
from orthostat.base.showing import System, show
from orthostat.model.bodies import COLUMN_ROLES, STATION_ROLES, Role
from orthostat.presentation import marks, svg
from orthostat.presentation.svg import Element, Point

_WIDE, _HIGH = 560.0, 560.0
_EDGE = 1e-6
"""Reach past an edge below which it is said to end there [m]."""
_MARGIN = 0.06
"""World shown round a face [m]."""


def face_figure(reach: Reach, found: FaceMap, system: System) -> str:
    """The face as the spindle sees it: reached ground in the column's colour, the rest hatched, the tool's
    circle at its limit positions, travel ends by name.
    """
    face, ground = found.face, found.ground
    task = face_task(reach.inputs, face, found.tool, found.tip, loaded=found.loaded)
    low = (face.u_low - _MARGIN, min(face.v_low, 0.0) - _MARGIN)
    high = (face.u_high + _MARGIN, face.v_high + _MARGIN)
    box = (60.0, 64.0, _WIDE - 120.0, _HIGH - 150.0)
    seen = svg.View.fitting(low, high, box=box)
    frame = (seen.point((low[0], high[1])), seen.point((high[0], low[1])))
    parts = _silhouettes(task, seen)
    parts.append(area(ground.wanted, seen, fill=svg.PAPER))
    parts.append(area(ground.machinable, seen, fill=svg.COLUMN, opacity="0.75"))
    parts.append(area(ground.lost, seen, fill=svg.PAPER))
    parts.append(area(ground.lost, seen, fill=svg.HATCH_BLOCKED, stroke=svg.RUST))
    parts.append(area(ground.wanted, seen, fill="none", stroke=svg.INK, width=1.5))
    lines, labels = _travel_lines(reach, seen, low, high)
    parts += lines
    if is_mill(found.tool) and not ground.permitted.is_empty:
        parts += _limit_circles(found, seen)
    words = _map_words(reach, found, system)
    head = svg.text((24.0, 26.0), f"{face.name}, {found.tool.name}", size=14.0, bold=True)
    return svg.document(
        _WIDE,
        _HIGH,
        svg.window(*frame, *parts),
        *labels,
        *_band_dimension(found, seen, system),
        head,
        svg.text((24.0, 44.0), _stance(found, system), size=11.0, fill=svg.QUIET),
        *_legend(words, _HIGH - 66.0),
        title=f"Reach of {found.tool.name} on {face.name}",
        description=" ".join(words),
    )


def map_facts(reach: Reach, found: FaceMap, system: System) -> str:
    """What a face map shows, in words."""
    return f"{found.face.name}, {found.tool.name}, {_stance(found, system)}. " + " ".join(
        _map_words(reach, found, system)
    )


def _stance(found: FaceMap, system: System) -> str:
    depth = "tip at the face" if found.tip == 0.0 else f"tip {show(abs(found.tip), 'length', system)} "
    if found.tip:
        depth += "into the face" if found.tip < 0.0 else "over the face"
    return f"B {show(found.b_angle, 'angle', system)}, {depth}" + (
        ", other faces loaded" if found.loaded else ""
    )


def _map_words(reach: Reach, found: FaceMap, system: System) -> list[str]:
    ground = found.ground
    if ground.whole:
        spare = show(ground.overrun, "length", system)
        words = [
            "Reaches all of it, just to an edge."
            if ground.overrun < _EDGE
            else f"Reaches all of it, {spare} or more past every edge."
        ]
    else:
        line = "no full-width line" if ground.lowest_line is None else (
            f"full width from {show(ground.lowest_line, 'length', system)} "
            f"to {show(ground.highest_line, 'length', system)} above the pallet"
        )  # fmt: skip
        words = [f"Reaches {show(ground.share, 'share', system)} of it; {line}."]
        for part in sorted(reach.blamed(found), key=lambda lost: -lost.ground.area)[:2]:
            names = ", ".join(b.name if not b.member else f"{b.name} ({b.member})" for b in part.blockers[:3])
            words.append(f"Hatched: out of reach for {names}.")
    if found.unknown:
        words.append(f"Not stated, and could take more away: {', '.join(found.unknown)}.")
    return words


def _legend(words: Sequence[str], top: float) -> list[Element]:
    return [svg.text((24.0, top + 16.0 * k), line, size=11.0) for k, line in enumerate(words[:4])]


def area(
    shape: shapely.Geometry,
    seen: svg.View,
    *,
    fill: str,
    stroke: str | None = None,
    width: float = 0.75,
    opacity: str | None = None,
) -> Element:
    """A shapely area of the world [m] in a view."""
    rings = [seen.ring(ring) for ring in svg.rings_of(shape)]
    return svg.area(rings, fill=fill, stroke=stroke, width=width, opacity=opacity)


def _silhouettes(task: Task, seen: svg.View) -> list[Element]:
    """Solids as the spindle sees them, far ones first."""
    scene = view(task.scene, task.angle)
    order = np.argsort(scene.high[:, 2])
    return [
        area(scene.outlines[k], seen, fill=_tone(task.scene.solids[k].role), stroke=svg.QUIET, width=0.5)
        for k in order
    ]


def _tone(role: Role) -> str:
    if role in COLUMN_ROLES:
        return svg.COLUMN
    return svg.SHADE if role in STATION_ROLES else svg.STONE


def _travel_lines(
    reach: Reach, seen: svg.View, low: Point, high: Point
) -> tuple[list[Element], list[Element]]:
    """Ends of travel as lines, and their names to stand outside the picture's window."""
    limits = reach.inputs.limits
    parts, labels = [], []
    for name, value, vertical in (
        ("X low", limits.x_low, True),
        ("X high", limits.x_high, True),
        ("Y low", limits.y_low, False),
        ("Y high", limits.y_high, False),
    ):
        if value is None or not (low[0] if vertical else low[1]) < value < (high[0] if vertical else high[1]):
            continue
        ends = ((value, low[1]), (value, high[1])) if vertical else ((low[0], value), (high[0], value))
        a, b = seen.point(ends[0]), seen.point(ends[1])
        parts.append(svg.line(a, b, stroke=svg.INK, width=1.0, stroke_dasharray="9 3 2 3"))
        at = (b[0], b[1] - 4.0) if vertical else (b[0] + 5.0, b[1] + 3.5)
        anchor = "middle" if vertical else "start"
        labels.append(svg.text(at, f"end of travel, {name}", size=10.0, anchor=anchor, halo=True))
    return parts, labels


def _limit_circles(found: FaceMap, seen: svg.View) -> list[Element]:
    """The cutter at its lowest positions: over the left and right edge and the middle of the face."""
    parts = []
    face = found.face
    flat, widest = (
        found.tool.flat_radius,
        max([found.tool.largest_radius, *(s.radius for s in found.tool.steps if s.cuts)]),
    )
    for u in (face.u_low, face.u_middle, face.u_high):
        axis = lowest_position(found, u)
        if axis is None:
            continue
        centre = seen.point(axis)
        parts.append(svg.circle(centre, seen.length(flat), stroke=svg.INK, width=1.25))
        if widest > flat + 1e-6:
            parts.append(
                svg.circle(centre, seen.length(widest), stroke=svg.INK, width=0.75, stroke_dasharray="3 2")
            )
        arm = 5.0
        parts.append(svg.line((centre[0] - arm, centre[1]), (centre[0] + arm, centre[1])))
        parts.append(svg.line((centre[0], centre[1] - arm), (centre[0], centre[1] + arm)))
    return parts


def lowest_position(found: FaceMap, u: float) -> Point | None:
    """The lowest permitted axis position nearest to u that still cuts the face, in (u, v) [m]."""
    allowed = found.ground.permitted
    if allowed.is_empty:
        return None
    x_low, y_low, x_high, y_high = allowed.bounds
    at = min(max(u, x_low), x_high)
    floor = found.face.v_low - found.tool.flat_radius
    line = shapely.intersection(
        allowed, shapely.LineString([(at, max(y_low, floor) - 1e-9), (at, y_high + 1e-9)])
    )
    if line.is_empty:
        return None
    return at, float(line.bounds[1])


def _band_dimension(found: FaceMap, seen: svg.View, system: System) -> list[Element]:
    ground, face = found.ground, found.face
    if ground.whole or ground.lowest_line is None or ground.lost_band < 1e-6:
        return []
    a, b = seen.point((face.u_high, face.v_low)), seen.point((face.u_high, ground.lowest_line))
    return [marks.dimension(b, a, show(ground.lost_band, "length", system), offset=26.0)]


def side_figure(reach: Reach, found: FaceMap, system: System) -> str:
    """From the side: tool, holder, head and pallet with the tool at its lowest position over the face."""
    task = face_task(reach.inputs, found.face, found.tool, found.tip, loaded=found.loaded)
    axis = lowest_position(found, found.face.u_middle)
    words = f"{found.face.name}, {found.tool.name}: the lowest position, from the side"
    if axis is None:
        axis = (found.face.u_middle, found.face.v_low + found.tool.flat_radius)
        words += " (not permitted: drawn at the lower edge)"
    blockers = {b.name for part in reach.blamed(found) for b in part.blockers if b.kind == "body"}
    return _elevation(task, axis, blockers, reach, words, system)


def _elevation(task: Task, axis: Point, blockers: set[str], reach: Reach, title: str, system: System) -> str:
    scene = view(task.scene, task.angle)
    stack = members(task.tool, task.limits)
    far = task.tip + max([m.end for m in stack if not m.head] + [0.1]) + 0.16
    low = (float(scene.low[:, 2].min(initial=0.0)) - 0.02, float(scene.low[:, 1].min(initial=0.0)) - 0.02)
    high = (far, max(float(scene.high[:, 1].max(initial=0.0)), axis[1] + 0.1) + 0.03)
    seen = svg.View.fitting(low, high, box=(24.0, 60.0, _WIDE + 120.0, _HIGH - 150.0))
    frame = (seen.point((low[0], high[1])), seen.point((high[0], low[1])))
    parts = [
        _outline(scene, k, (2, 1), seen, blocked=task.scene.solids[k].name in blockers)
        for k in np.argsort(scene.high[:, 0])
    ]
    parts += [_member(m, (task.tip, axis[1]), seen, side=True) for m in reversed(stack)]
    tip, gauge = seen.point((task.tip, axis[1])), seen.point((far, axis[1]))
    parts.append(
        svg.line((tip[0] - 10.0, tip[1]), gauge, stroke=svg.INK, width=0.6, stroke_dasharray="12 3 2 3")
    )
    limit = task.limits.y_low
    if limit is not None and low[1] < limit < high[1]:
        a, b = seen.point((low[0], limit)), seen.point((high[0], limit))
        parts.append(svg.line(a, b, width=1.0, stroke_dasharray="9 3 2 3"))
        parts.append(svg.text((a[0] + 8.0, a[1] - 5.0), "end of travel, Y low", size=10.0, halo=True))
    notes = _stack_words(task, axis, system, head_stated=reach.inputs.limits.head_stated)
    return svg.document(
        _WIDE + 168.0,
        _HIGH,
        svg.window(*frame, *parts),
        svg.text((24.0, 26.0), title, size=14.0, bold=True),
        svg.text(
            (24.0, 44.0), "Y up, Z to the right; the spindle comes from the right", size=11.0, fill=svg.QUIET
        ),
        *_legend([*notes, *_blocked_words(blockers)], _HIGH - 66.0),
        title=title,
        description=" ".join(notes),
    )


def _blocked_words(blockers: set[str]) -> list[str]:
    return [f"Hatched: in the way: {', '.join(sorted(blockers))}."] if blockers else []


def _stack_words(task: Task, axis: Point, system: System, *, head_stated: bool) -> list[str]:
    height, tip = show(axis[1], "length", system), show(task.tip, "length", system)
    words = [f"Axis {height} above the pallet, tip {tip} from B."]
    if not head_stated:
        words.append("The head is not stated and not drawn.")
    return words


def _outline(scene: View, index: int, axes: tuple[int, int], seen: svg.View, *, blocked: bool) -> Element:
    points = scene.points[scene.first[index] : scene.first[index + 1]][:, list(axes)]
    hull = shapely.MultiPoint(points).convex_hull
    role = scene.scene.solids[index].role
    body = area(hull, seen, fill=_tone(role), stroke=svg.QUIET, width=0.6)
    if not blocked:
        return body
    return svg.group(body, area(hull, seen, fill=svg.HATCH_BLOCKED, stroke=svg.RUST, width=1.25))


def _member(member: Member, tip: Point, seen: svg.View, *, side: bool) -> Element:
    """One part of the stack in the side view (Z, Y) or the plan (X, Z)."""
    index = 1 if side else 0
    low = -member.radius if member.radius is not None else member.low[index]
    high = member.radius if member.radius is not None else member.high[index]
    if side:
        a = (tip[0] + member.start, tip[1] + low)
        b = (tip[0] + member.end, tip[1] + high)
    else:
        a = (tip[0] + low, tip[1] + member.start)
        b = (tip[0] + high, tip[1] + member.end)
    fill = {"cutter": svg.INK, "head": svg.PAPER}.get(member.name, "#b7b2a8")
    return svg.rectangle(seen.point(a), seen.point(b), fill=fill, stroke=svg.INK, width=1.0)


def cut_figure(found: CutReach, system: System) -> str:
    """From above: the tool at the first place it can't reach (or the middle of the cut), with what is in
    the way hatched. X to the right, Z up; the spindle comes from the top.
    """
    task = found.task
    scene = view(task.scene, task.angle)
    axis = _cut_axis(found)
    stack = members(task.tool, task.limits)
    heights = (axis[1] - max(m.reach for m in stack), axis[1] + max(m.reach for m in stack))
    near = [
        k
        for k in np.argsort(scene.high[:, 1])
        if scene.high[k, 1] > heights[0] and scene.low[k, 1] < heights[1]
    ]
    blockers = {b.name for b in found.blockers if b.kind == "body"}
    reach_x = 0.05 + max(float(np.abs(scene.points[:, 0]).max(initial=0.0)), abs(axis[0]) + 0.1)
    top = task.tip + max([m.end for m in stack if not m.head] + [0.1]) + 0.16
    low, high = (-reach_x, float(scene.low[:, 2].min(initial=0.0)) - 0.02), (reach_x, top)
    seen = svg.View.fitting(low, high, box=(24.0, 60.0, _WIDE - 48.0, _HIGH - 150.0))
    frame = (seen.point((low[0], high[1])), seen.point((high[0], low[1])))
    parts = [
        _outline(scene, int(k), (0, 2), seen, blocked=task.scene.solids[k].name in blockers) for k in near
    ]
    tool = [_member(m, (axis[0], task.tip), seen, side=False) for m in reversed(stack)]
    parts.append(svg.group(*tool, opacity="0.8"))
    words = cut_words(found, system)
    return svg.document(
        _WIDE,
        _HIGH,
        svg.window(*frame, *parts),
        svg.text((24.0, 26.0), f"{found.cut.name}, {found.tool.name}", size=14.0, bold=True),
        svg.text(
            (24.0, 44.0),
            f"from above at B {show(found.b_angle, 'angle', system)}; the spindle comes from the top",
            size=11.0,
            fill=svg.QUIET,
        ),
        *_legend(words, _HIGH - 66.0),
        title=f"Reach of {found.tool.name} for {found.cut.name}",
        description=" ".join(words),
    )


def cut_words(found: CutReach, system: System) -> list[str]:
    """What is known of a cut, in sentences."""
    words = [f"Reaches {show(found.share, 'share', system)} of it."]
    bodies = [b for b in found.blockers if b.kind == "body"]
    travel = [b.name for b in found.blockers if b.kind == "travel"]
    words += [f"{blocker.name} is in the way of the {blocker.member}." for blocker in bodies[:2]]
    if travel:
        words.append(f"Out of travel: {', '.join(travel)}.")
    for name, room in (("shank and holder", found.holder), ("nose and head", found.head)):
        if room is not None:
            words.append(
                f"Least room beside {name}: {show(room.clearance, 'length', system)} to {room.nearest}."
            )
    return words


def _cut_axis(found: CutReach) -> Point:
    if found.missed:
        return found.missed[0]
    if found.cut.places:
        return found.cut.places[0]
    ground = found.ground
    if ground is None:
        return 0.0, 0.0
    shape = ground.lost if not ground.lost.is_empty else ground.wanted
    point = shape.representative_point()
    return float(point.x), float(point.y)
